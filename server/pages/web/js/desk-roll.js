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
  const hint = el('p', { class: 'note' }, 'Choose a name to give more time, to change the name, or to take somebody out.');
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
  const shown = named(name);
  const button = el('button', { type: 'button', class: 'plain', 'aria-haspopup': 'dialog' }, shown);
  button.addEventListener('click', () => aboutStudent(app, student));
  const [state, time] = [el('td'), el('td')];
  const node = el('tr', {}, el('th', { scope: 'row' }, button), state, time);
  return {
    node,
    draw(row, open) {
      tell(shown, row.name);
      const here = row.present ? 'here' : 'away';
      tell(state, open && row.answered ? `${here}, answered` : here);
      tell(time, row.time.kind === 'standard' ? '' : allowance(row.time));
      node.classList.toggle('away', !row.present);
    },
  };
}

/**
 * Time, name and removal of one student; of time nobody else is told.
 * @param {App} app
 * @param {string} student
 */
async function aboutStudent(app, student) {
  const row = app.held.roll.get(student);
  if (!row) {
    return;
  }
  const [time, name] = [timeFields(row.time), nameField(row.name)];
  const form = el(
    'form',
    { method: 'dialog', novalidate: true },
    ...time.nodes,
    el('p', { class: 'note' }, 'It holds from the next round on. The student is told; nobody else is.'),
    el('div', { class: 'buttons' },
      el('button', { class: 'main', value: 'time' }, 'Give this time'),
      el('button', { value: '', formnovalidate: true }, 'Leave it')),
    el('div', { class: 'apart' }, name.node, el('button', { value: 'name' }, 'Change the name')),
    el('div', { class: 'apart' }, el('button', { value: 'remove' }, 'Take out of the review …')),
  );
  form.addEventListener('submit', (event) => {
    const chosen = event.submitter instanceof HTMLButtonElement ? event.submitter.value : '';
    const fits = chosen === 'time' ? time.fits() : chosen === 'name' ? name.fits() : true;
    if (!fits) {
      event.preventDefault();
    }
  });
  const answer = await dialog(named(row.name), form).answer;
  const given = time.read();
  if (answer === 'time' && given && app.say({ type: 'stretch', student, time: given })) {
    app.notice(`\u2068${row.name}\u2069: ${allowance(given)} from the next round on.`);
  } else if (answer === 'name' && name.read() !== row.name) {
    app.say({ type: 'rename', student, name: name.read() });
  } else if (answer === 'remove') {
    await remove(app, row);
  }
}

/**
 * The choice of a student's time; `fits` says where what was chosen is none.
 * @param {TimeAllowance} now
 */
function timeFields(now) {
  const times = choices('radio', 'time', 'Time for a round', TIMES, [optionOf(now)]);
  const percent = field('percent', 'Per cent of the class’s time', {
    type: 'number', min: LEAST_PERCENT, max: MOST_PERCENT, inputmode: 'numeric',
    hint: `From ${LEAST_PERCENT} to ${MOST_PERCENT}.`,
    value: now.kind === 'stretched' ? now.percent : '',
  });
  const seen = () => show(percent.node, times.read()[0] === 'other');
  times.node.addEventListener('change', seen);
  seen();
  const read = () => timeOf(times.read()[0] ?? '', percent.input.value);
  const wrong = `A whole number from ${LEAST_PERCENT} to ${MOST_PERCENT}.`;
  return { nodes: [times.node, percent.node], read, fits: () => holds(percent, read() !== null, wrong) };
}

/**
 * The name, to be changed; `fits` says where there is none.
 * @param {string} now
 */
function nameField(now) {
  const name = field('name', 'Name', {
    maxlength: 96, dir: 'auto', value: now,
    hint: 'The student is told. The class sees it only if the student asked to be listed.',
  });
  const read = () => name.input.value.trim();
  return { node: name.node, read, fits: () => holds(name, read() !== '', 'A name has 1 to 24 characters.') };
}

/**
 * Whether a field holds what it should; where not, it is said there and the focus goes there.
 * @param {import('./desk-fields.js').Field} field
 * @param {boolean} fits
 * @param {string} wrong
 */
function holds(field, fits, wrong) {
  field.blame(fits ? '' : wrong);
  if (!fits) {
    field.input.focus();
  }
  return fits;
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
