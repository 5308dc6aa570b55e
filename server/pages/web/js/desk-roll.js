// The roll: who has a seat, in the order of their names. What is done about one student is done in a dialog.

/**
 * @import { App } from './desk-app.js'
 * @import { RollRow, TimeAllowance } from './wire.js'
 */

import { ask, dialog } from './desk-ask.js';
import { choices, field } from './desk-fields.js';
import { part } from './desk-part.js';
import { el, named, show, tell } from './dom.js';
import { allowance } from './words.js';

/** As the server has them: wire/src/terms.rs. */
const LEAST_PERCENT = 150;
const MOST_PERCENT = 1000;

/** @typedef {{ node: HTMLTableRowElement, draw: (row: RollRow, open: boolean) => void }} Line */

/** @param {App} app */
export function rollPanel(app) {
  const said = el('p', { class: 'in' });
  const hidden = el('p', { class: 'note' }, 'Names are hidden from the class.');
  const none = el('p', {}, 'Nobody has taken a seat yet.');
  const body = el('tbody');
  const removed = el('p', { class: 'note' });
  const freshly = part(removed);
  const table = el(
    'table',
    { class: 'roll' },
    el('thead', {}, el('tr', {}, ['Student', 'State', 'Time'].map((head) => el('th', { scope: 'col' }, head)))),
    body,
  );
  const hint = el('p', { class: 'note' }, 'Choose a name to give more time, or to take somebody out.');
  /** @type {Map<string, Line>} */
  const lines = new Map();
  const update = () => {
    const { roll, review, removed: gone } = app.held;
    const open = review.stage.phase === 'open';
    const rows = [...roll.values()];
    tell(said, counts(rows, open));
    show(none, rows.length === 0);
    show(hidden, !app.shown && rows.length > 0);
    show(table, app.shown && rows.length > 0);
    show(hint, app.shown && rows.length > 0 && review.stage.phase !== 'ended');
    draw(app, body, lines, app.shown ? rows : [], open);
    show(removed, app.shown && gone.length > 0);
    freshly([gone, app.shown], () =>
      app.shown ? ['Taken out: ', gone.map((name, at) => [at > 0 ? ', ' : '', named(name)])].flat(2) : null,
    );
  };
  const node = el('section', { class: 'students' }, el('h2', {}, 'Students'), said, none, hidden, table, hint, removed);
  return { node, update };
}

/**
 * @param {readonly RollRow[]} rows
 * @param {boolean} open
 */
function counts(rows, open) {
  const here = rows.filter((row) => row.present).length;
  const answered = rows.filter((row) => row.answered).length;
  const said = `${here} here, ${rows.length - here} away`;
  return open ? `${said}, ${answered} ${answered === 1 ? 'has' : 'have'} answered` : said;
}

/**
 * Brings the lines up to date where they are, so that the focus stays on its student.
 * @param {App} app
 * @param {HTMLElement} body
 * @param {Map<string, Line>} lines
 * @param {RollRow[]} rows
 * @param {boolean} open
 */
function draw(app, body, lines, rows, open) {
  const inOrder = [...rows].sort((a, b) => compare(a.name.toLowerCase(), b.name.toLowerCase()) || compare(a.student, b.student));
  for (const [student, { node }] of lines) {
    if (!inOrder.some((row) => row.student === student)) {
      node.remove();
      lines.delete(student);
    }
  }
  inOrder.forEach((row, at) => {
    const known = lines.get(row.student);
    const line = known ?? newLine(app, row);
    lines.set(row.student, line);
    line.draw(row, open);
    if (body.children[at] !== line.node) {
      body.insertBefore(line.node, body.children[at] ?? null);
    }
  });
}

/**
 * @param {string} a
 * @param {string} b
 */
function compare(a, b) {
  return a < b ? -1 : a > b ? 1 : 0;
}

/**
 * @param {App} app
 * @param {RollRow} first
 * @returns {Line}
 */
function newLine(app, { student, name }) {
  const button = el('button', { type: 'button', class: 'plain', 'aria-haspopup': 'dialog' }, named(name));
  button.addEventListener('click', () => aboutStudent(app, student));
  const [state, time] = [el('td'), el('td')];
  const node = el('tr', {}, el('th', { scope: 'row' }, button), state, time);
  return {
    node,
    draw(row, open) {
      const here = row.present ? 'here' : 'away';
      tell(state, open && row.answered ? `${here}, answered` : here);
      tell(time, row.time.kind === 'standard' ? '' : allowance(row.time));
      node.classList.toggle('away', !row.present);
    },
  };
}

/**
 * Time and removal of one student, told to nobody else.
 * @param {App} app
 * @param {string} student
 */
async function aboutStudent(app, student) {
  const row = app.held.roll.get(student);
  if (!row) {
    return;
  }
  const picked = optionOf(row.time);
  const times = choices('radio', 'time', 'Time for a round', TIMES, [picked]);
  const percent = field('percent', 'Per cent of the class’s time', {
    type: 'number', min: LEAST_PERCENT, max: MOST_PERCENT, inputmode: 'numeric',
    hint: `From ${LEAST_PERCENT} to ${MOST_PERCENT}.`,
    value: row.time.kind === 'stretched' ? row.time.percent : '',
  });
  const seen = () => show(percent.node, times.read()[0] === 'other');
  times.node.addEventListener('change', seen);
  seen();
  const form = el(
    'form',
    { method: 'dialog', novalidate: true },
    times.node,
    percent.node,
    el('p', { class: 'note' }, 'It holds from the next round on. The student is told; nobody else is.'),
    el('div', { class: 'buttons' },
      el('button', { class: 'main', value: 'time' }, 'Give this time'),
      el('button', { value: '', formnovalidate: true }, 'Leave it')),
    el('div', { class: 'apart' }, el('button', { value: 'remove', type: 'submit' }, 'Take out of the review …')),
  );
  form.addEventListener('submit', (event) => {
    const gives = event.submitter instanceof HTMLButtonElement && event.submitter.value === 'time';
    percent.blame('');
    if (gives && timeOf(times.read()[0] ?? '', percent.input.value) === null) {
      event.preventDefault();
      percent.blame(`A whole number from ${LEAST_PERCENT} to ${MOST_PERCENT}.`);
      percent.input.focus();
    }
  });
  const answer = await dialog(named(row.name), form).answer;
  const time = timeOf(times.read()[0] ?? '', percent.input.value);
  if (answer === 'time' && time && app.say({ type: 'stretch', student, time })) {
    app.notice(`\u2068${row.name}\u2069: ${allowance(time)} from the next round on.`);
  } else if (answer === 'remove') {
    await remove(app, row);
  }
}

/**
 * @param {App} app
 * @param {RollRow} row
 */
async function remove(app, { student, name }) {
  const question = ['Take ', named(name), ' out of the review?'];
  if (await ask(question, 'Take out', 'Answers already recorded stay. Whoever has the join word may join anew.')) {
    app.say({ type: 'remove', student });
  }
}

/**
 * The time that was chosen; nothing where it is no time.
 * @param {string} option
 * @param {string} percent
 * @returns {TimeAllowance | null}
 */
function timeOf(option, percent) {
  if (option === 'standard' || option === 'untimed') {
    return { kind: option };
  }
  const number = Number(option === 'other' ? percent : option);
  const fits = Number.isInteger(number) && number >= LEAST_PERCENT && number <= MOST_PERCENT;
  return fits ? { kind: 'stretched', percent: number } : null;
}

/** @param {TimeAllowance} time */
function optionOf(time) {
  if (time.kind !== 'stretched') {
    return time.kind;
  }
  const known = TIMES.find(([value]) => value === String(time.percent));
  return known ? known[0] : 'other';
}

/** @type {readonly (readonly [string, string, string?])[]} */
const TIMES = [
  ['standard', 'Class time'],
  ['150', '1.5 ×'],
  ['200', '2 ×'],
  ['300', '3 ×'],
  ['other', 'Another share'],
  ['untimed', 'No limit', 'Rounds wait for this student until you close them.'],
];
