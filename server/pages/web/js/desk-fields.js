// Fields of the desk's forms: a label, what is typed or chosen, a hint, and what is wrong with it.

/** @import { Attributes, Child } from './dom.js' */

import { el, tell } from './dom.js';

/**
 * @template {HTMLElement} [E=HTMLInputElement]
 * @typedef {{ node: HTMLElement, input: E, blame: (text: string) => void }} Field
 */

/**
 * A line to type in.
 * @param {string} id
 * @param {string} label
 * @param {{ hint?: string } & Attributes} [more] A hint, and attributes of the input.
 * @returns {Field}
 */
export function field(id, label, { hint = '', ...attributes } = {}) {
  return labelled(id, label, hint, el('input', { type: 'text', id, name: id, autocomplete: 'off', ...attributes }));
}

/**
 * A choice of one from a list.
 * @param {string} id
 * @param {string} label
 * @param {readonly (readonly [string, string])[]} rows Values and what they are called.
 * @param {string} [hint]
 * @returns {Field<HTMLSelectElement>}
 */
export function chosen(id, label, rows, hint = '') {
  return labelled(id, label, hint, el('select', { id, name: id }, rows.map(option)));
}

/** @param {readonly [string, string]} row */
export function option([value, label]) {
  return el('option', { value }, label);
}

/**
 * A text of several lines, typed, pasted, or taken from a file that is chosen.
 * @param {string} id
 * @param {string} label
 * @param {{ hint: string, placeholder?: string }} more
 * @returns {Field<HTMLTextAreaElement>}
 */
export function text(id, label, { hint, placeholder = '' }) {
  const area = el('textarea', { id, name: id, rows: 14, spellcheck: 'false', placeholder, autocomplete: 'off' });
  const made = labelled(id, label, hint, area);
  const file = el('input', { type: 'file', id: `${id}-file`, accept: '.txt,.toml,text/plain' });
  file.addEventListener('change', async () => {
    const [first] = file.files ?? [];
    if (first) {
      area.value = await first.text();
      made.blame('');
      area.dispatchEvent(new Event('input', { bubbles: true }));
    }
  });
  const from = el('div', { class: 'file' }, el('label', { for: `${id}-file` }, 'From a file'), file);
  area.before(from);
  return made;
}

/**
 * @template {HTMLElement} E
 * @param {string} id
 * @param {string} label
 * @param {string} hint
 * @param {E} input
 * @returns {Field<E>}
 */
function labelled(id, label, hint, input) {
  const fault = el('p', { class: 'fault', id: `${id}-fault` });
  const told = hint ? el('p', { class: 'note', id: `${id}-hint` }, hint) : null;
  input.setAttribute('aria-describedby', `${hint ? `${id}-hint ` : ''}${id}-fault`);
  const node = el('div', { class: 'field' }, el('label', { for: id }, label), input, told, fault);
  const blame = (/** @type {string} */ said) => {
    tell(fault, said);
    if (said) {
      input.setAttribute('aria-invalid', 'true');
    } else {
      input.removeAttribute('aria-invalid');
    }
  };
  return { node, input, blame };
}

/**
 * Boxes to tick or one of several to choose, under a heading.
 * @template {string} V
 * @param {'checkbox' | 'radio'} type
 * @param {string} name
 * @param {string} title
 * @param {readonly (readonly [V, string, string?])[]} rows Values, labels, and what is to be said of them.
 * @param {readonly V[]} picked Those chosen at first.
 */
export function choices(type, name, title, rows, picked) {
  const fault = el('p', { class: 'fault', id: `${name}-fault` });
  const inputs = rows.map(([value]) =>
    el('input', { type, name, value, id: `${name}-${value}`, checked: picked.includes(value) }),
  );
  const labels = rows.map(([value, label, note], at) => {
    const noteId = `${name}-${value}-note`;
    if (note) {
      inputs[at]?.setAttribute('aria-describedby', noteId);
    }
    return el(
      'div',
      { class: 'option' },
      el('label', { class: 'choice', for: `${name}-${value}` }, inputs[at], el('span', {}, label)),
      note ? el('p', { class: 'note', id: noteId }, note) : null,
    );
  });
  const node = el(
    'fieldset',
    { 'aria-describedby': `${name}-fault` },
    el('legend', { class: 'label' }, title),
    labels,
    fault,
  );
  const read = () => rows.map(([value]) => value).filter((_, at) => inputs[at]?.checked);
  return { node, read, inputs, blame: (/** @type {string} */ said) => tell(fault, said) };
}

/**
 * A heading and fields that belong together.
 * @param {string} title
 * @param {...Child} children
 */
export function block(title, ...children) {
  return el('section', { class: 'block' }, el('h2', {}, title), ...children);
}

/**
 * Moves to the first field of a form that has a fault, and opens what it is hidden in.
 * @param {HTMLElement} form
 * @returns {boolean} Whether there is one.
 */
export function focusFault(form) {
  const faulty = form.querySelector('[aria-invalid="true"]');
  const hidden = faulty?.closest('details');
  if (hidden) {
    hidden.open = true;
  }
  if (faulty instanceof HTMLElement) {
    faulty.focus();
  }
  return faulty !== null;
}
