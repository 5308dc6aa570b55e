// The forms: joining a review, and opening a study group.

/**
 * @import { ReviewSettings, Task } from './wire.js'
 * @import { App, Entry, Fault, View } from './student-app.js'
 */

import { el, fill, tell } from './dom.js';

/** As the server has them: wire/src/limits.rs. */
const NAME_CHARS = 24;
/** How long a study group sees a reveal, unless it votes for the next round, in milliseconds. */
const REVEAL_MS = 20_000;

/**
 * The join word as the server knows it, or nothing where it cannot be one.
 * @param {string} typed
 */
export function joinWord(typed) {
  const bones = typed.toLowerCase().split(/[\s_-]+/).filter((bone) => bone !== '');
  const spelt = bones.every((bone) => /^[a-z]+$/.test(bone));
  return spelt && (bones.length === 2 || bones.length === 3) ? bones.join('-') : null;
}

/**
 * The form with which a student joins.
 * @param {App} app
 * @param {Fault | null} fault
 * @returns {View}
 */
export function joinView(app, fault) {
  const { entry } = app;
  const word = field('word', 'Join word', entry.word, {
    hint: 'Names of bones with hyphens between, such as radius-talus.',
    attributes: { autocomplete: 'off', autocapitalize: 'none', spellcheck: 'false', maxlength: 64 },
  });
  const who = person(entry, 'Your instructor sees it.');
  const group = field('group', 'Group', entry.group, {
    hint: 'Such as your bench of the lab, if your instructor asks for it.',
    attributes: { autocomplete: 'off', maxlength: NAME_CHARS, dir: 'auto' },
  });
  const submit = (/** @type {Event} */ event) => {
    event.preventDefault();
    const read = { ...who.read(), word: joinWord(word.input.value) ?? '', group: clean(group.input.value) };
    word.blame(read.word ? '' : 'A join word is two bone names, such as radius-talus.');
    who.blame();
    if (focusFirst([word, who.name])) {
      return;
    }
    app.join(read);
  };
  const form = el(
    'form',
    { novalidate: true, onsubmit: submit },
    word.node,
    who.nodes,
    el('details', { open: entry.group !== '' }, el('summary', {}, 'Working in a group?'), group.node),
    el('button', { class: 'main', type: 'submit' }, 'Join'),
  );
  blameAt(fault, { word, name: who.name });
  return {
    title: 'Join a review',
    node: page('Join a review', INVITATION, form, other('Study with others, without an instructor.',
      'Open a study group', () => app.go({ kind: 'gather' }))),
  };
}

/**
 * The form with which a student opens a study group.
 * @param {App} app
 * @param {Fault | null} fault
 * @returns {View}
 */
export function gatherView(app, fault) {
  const list = el('select', { id: 'list', name: 'list' }, el('option', { value: 'shoulder' }, 'shoulder'));
  const listFault = el('p', { class: 'fault', id: 'list-fault' }, fault?.field === 'list' ? fault.text : '');
  list.setAttribute('aria-describedby', 'list-fault');
  loadLists(list);
  const rounds = el('select', { id: 'rounds', name: 'rounds' }, ROUNDS.map(option));
  const limit = el('select', { id: 'limit', name: 'limit' }, LIMITS.map(option));
  limit.value = '45000';
  const tasks = TASKS.map(([task, label]) => choice(`task-${task}`, label, task === 'name'));
  const tasksFault = el('p', { class: 'fault', id: 'tasks-fault' });
  const who = person(app.entry, 'Others see it only if you choose so below.');
  const submit = (/** @type {Event} */ event) => {
    event.preventDefault();
    const chosen = TASKS.map(([task]) => task).filter((_, at) => tasks[at]?.input.checked);
    tell(tasksFault, chosen.length > 0 ? '' : 'Choose at least one.');
    who.blame();
    if (chosen.length === 0) {
      tasks[0]?.input.focus();
    } else if (!focusFirst([who.name])) {
      app.gather({ ...app.entry, ...who.read() }, settings(list.value, rounds.value, limit.value, chosen));
    }
  };
  const form = el(
    'form',
    { novalidate: true, onsubmit: submit },
    el('div', { class: 'field' }, el('label', { for: 'list' }, 'Muscle list'), list, listFault),
    el('div', { class: 'field' }, el('label', { for: 'rounds' }, 'Rounds'), rounds),
    el('div', { class: 'field' }, el('label', { for: 'limit' }, 'Time for a round'), limit),
    el(
      'fieldset',
      { 'aria-describedby': 'tasks-fault' },
      el('legend', { class: 'label' }, 'What rounds ask for'),
      tasks.map((task) => task.node),
      tasksFault,
    ),
    who.nodes,
    el('button', { class: 'main', type: 'submit' }, 'Open the group'),
  );
  blameAt(fault, { name: who.name });
  return {
    title: 'Open a study group',
    node: page('Open a study group', GROUP, form, other('You have a join word?', 'Join a review',
      () => app.go({ kind: 'form' }))),
  };
}

/**
 * @param {string} list
 * @param {string} rounds
 * @param {string} limit
 * @param {[Task, ...Task[]] | Task[]} tasks
 * @returns {ReviewSettings}
 */
function settings(list, rounds, limit, tasks) {
  const [first = 'name', ...others] = tasks;
  return {
    list,
    rounds: Number(rounds),
    limit_ms: Number(limit),
    tasks: [first, ...others],
    pace: { kind: 'group', reveal_ms: REVEAL_MS },
  };
}

/**
 * Fills the choice of lists; the one that every server has stays where they cannot be had.
 * @param {HTMLSelectElement} list
 */
async function loadLists(list) {
  const answer = await fetch('/lists.json').catch(() => null);
  const rows = answer?.ok ? await answer.json().catch(() => null) : null;
  if (Array.isArray(rows) && rows.length > 0) {
    const chosen = list.value;
    fill(list, rows.map(({ key, name, muscles }) => option([key, `${name} (${muscles} muscles)`])));
    list.value = rows.some(({ key }) => key === chosen) ? chosen : rows[0].key;
  }
}

/**
 * Name and listing: the same in both forms.
 * @param {Entry} entry
 * @param {string} hint Who sees the name.
 */
function person(entry, hint) {
  const name = field('name', 'Your name', entry.name, {
    hint,
    attributes: { autocomplete: 'nickname', maxlength: 192, dir: 'auto' },
  });
  const listed = choice('listed', 'Show my name to the class in the standings', entry.listed);
  const read = () => ({ name: clean(name.input.value), listed: listed.input.checked });
  const blame = () => {
    const { length } = [...read().name];
    const long = length > NAME_CHARS ? `A name has at most ${NAME_CHARS} characters.` : '';
    name.blame(length === 0 ? 'A name is needed, so that the instructor knows who is here.' : long);
  };
  return { name, read, blame, nodes: [name.node, listed.node] };
}

/** @typedef {{ node: HTMLElement, input: HTMLInputElement, blame: (text: string) => void }} Field */

/**
 * A line to type in, with its label, a hint, and what is wrong with it.
 * @param {string} id
 * @param {string} label
 * @param {string} value
 * @param {{ hint: string, attributes: import('./dom.js').Attributes }} more
 * @returns {Field}
 */
function field(id, label, value, { hint, attributes }) {
  const describedby = `${id}-hint ${id}-fault`;
  const input = el('input', { type: 'text', id, name: id, value, 'aria-describedby': describedby, ...attributes });
  const fault = el('p', { class: 'fault', id: `${id}-fault` });
  const node = el(
    'div',
    { class: 'field' },
    el('label', { for: id }, label),
    input,
    el('p', { class: 'note', id: `${id}-hint` }, hint),
    fault,
  );
  const blame = (/** @type {string} */ text) => {
    tell(fault, text);
    input.setAttribute('aria-invalid', String(text !== ''));
  };
  return { node, input, blame };
}

/**
 * @param {string} id
 * @param {string} label
 * @param {boolean} checked
 */
function choice(id, label, checked) {
  const input = el('input', { type: 'checkbox', id, name: id, checked });
  return { input, node: el('label', { class: 'choice', for: id }, input, el('span', {}, label)) };
}

/** @param {readonly [string, string]} row */
function option([value, label]) {
  return el('option', { value }, label);
}

/**
 * @param {Fault | null} fault
 * @param {Record<string, Field>} fields
 */
function blameAt(fault, fields) {
  if (fault) {
    fields[fault.field]?.blame(fault.text);
  }
}

/**
 * Moves to the first field with a fault.
 * @param {Field[]} fields
 * @returns {boolean} Whether there is one.
 */
function focusFirst(fields) {
  const faulty = fields.find(({ input }) => input.getAttribute('aria-invalid') === 'true');
  faulty?.input.focus();
  return faulty !== undefined;
}

/** @param {string} typed */
function clean(typed) {
  return typed.trim().replace(/\s+/g, ' ');
}

/**
 * @param {string} title
 * @param {string} said
 * @param {HTMLElement} form
 * @param {HTMLElement} below
 */
function page(title, said, form, below) {
  return el('div', {}, el('h1', { tabindex: -1 }, title), el('p', { class: 'lead-in' }, said), form, below);
}

/**
 * @param {string} said
 * @param {string} label
 * @param {() => void} does
 */
function other(said, label, does) {
  return el('section', {}, el('p', {}, said), el('button', { type: 'button', onclick: does }, label));
}

const INVITATION = 'A muscle is described by what it does and where it attaches. Name it.';
const GROUP =
  'A review without an instructor: anyone in it starts it, and more than half of you decide what is done.';

/** @type {readonly (readonly [string, string])[]} */
const ROUNDS = [
  ['0', 'each muscle once'],
  ...['5', '8', '10', '12', '15', '20', '30'].map((number) => /** @type {const} */ ([number, number])),
];

/** @type {readonly (readonly [string, string])[]} */
const LIMITS = [
  ['20000', '20 seconds'],
  ['30000', '30 seconds'],
  ['45000', '45 seconds'],
  ['60000', '1 minute'],
  ['90000', '1½ minutes'],
  ['120000', '2 minutes'],
  ['300000', '5 minutes'],
];

/** @type {readonly (readonly [Task, string])[]} */
const TASKS = [
  ['name', 'A muscle’s name, from clues'],
  ['picture', 'A muscle’s name, from a picture'],
  ['movement', 'A movement, from attachments'],
  ['contrast', 'Which of two muscles'],
];
