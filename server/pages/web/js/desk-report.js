// The report, opened in a window of its own. The key goes with the form when it is sent and stands nowhere in
// the page.

/** @import { App } from './desk-app.js' */

import { chosen, field, option } from './desk-fields.js';
import { el, fill } from './dom.js';

/**
 * @param {App} app
 * @param {string} id What the ids of its fields begin with.
 * @param {() => boolean} [ready] Whether there is a key.
 */
export function reportForm(app, id, ready = () => app.key !== '') {
  const list = chosen(`${id}-list`, 'Muscle list', [['', 'every list']]);
  list.input.name = 'list';
  withLists(list.input);
  const section = field(`${id}-section`, 'Section', { name: 'section', maxlength: 40, dir: 'auto' });
  const from = field(`${id}-from`, 'From', { name: 'from', type: 'date' });
  const to = field(`${id}-to`, 'To', { name: 'to', type: 'date' });
  const form = el(
    'form',
    { method: 'post', action: '/desk/report', target: '_blank', class: 'filter' },
    el('div', { class: 'fields' }, section.node, list.node, from.node, to.node),
    el('button', { type: 'submit' }, 'Open the report in a new window'),
  );
  form.addEventListener('submit', (event) => {
    if (!ready()) {
      event.preventDefault();
    }
  });
  form.addEventListener('formdata', ({ formData }) => formData.set('key', app.key));
  return el(
    'section',
    { class: 'report' },
    el('h2', {}, 'The report'),
    el('p', {}, 'What the class knows and confuses, over all reviews of this server or some of them. It names no student.'),
    form,
  );
}

/** @typedef {{ key: string, name: string, muscles: number }} ListRow */

/** @type {Promise<ListRow[]> | null} */
let lists = null;

/**
 * The muscle lists of the server; none where they cannot be had.
 * @returns {Promise<ListRow[]>}
 */
export function muscleLists() {
  lists ??= fetch('/lists.json')
    .then((answer) => (answer.ok ? answer.json() : []))
    .catch(() => []);
  return lists;
}

/**
 * Adds the server's muscle lists to a choice.
 * @param {HTMLSelectElement} select
 * @param {string} [first] The one chosen at first.
 */
export async function withLists(select, first = '') {
  const rows = (await muscleLists()).map(({ key, name, muscles }) =>
    option([key, `${name} (${muscles} muscles)`]),
  );
  if (rows.length > 0) {
    const kept = [...select.options].filter((one) => one.value === '');
    fill(select, kept, rows);
    select.value = first;
  }
}
