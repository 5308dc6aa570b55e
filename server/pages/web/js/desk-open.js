// The form with which another review is opened.

/**
 * @import { Pace, ReviewInfo, ReviewSettings, ScoreRule, Spelling, Task } from './wire.js'
 * @import { App, Fault, View } from './desk-app.js'
 */

import { choosing } from './desk-choose.js';
import { block, choices, field, focusFault } from './desk-fields.js';
import { el, fill, show, tell } from './dom.js';
import { sentence, terms } from './words.js';

/** As the server has them: wire/src/hello.rs and limits.rs. */
const MOST_ROUNDS = 500;
const MOST_SECONDS = 600;
const MESSAGE_BYTES = 16 * 1024;

/**
 * @param {App} app
 * @returns {View}
 */
export function openView(app) {
  const what = choosing(app);
  const how = fields();
  const told = el('ul', { class: 'told' });
  const whole = el('p', { class: 'fault', role: 'alert' });
  const update = () => {
    const { source } = what.read();
    show(how.rounds.node, source !== 'plan');
    show(how.tasks.node, source !== 'plan');
    show(how.adaptive.node, source !== 'plan');
    show(how.planned, source === 'plan');
    show(how.reveal.node, how.pace.read()[0] === 'automatic');
    fill(told, preview(settingsOf(what.read().list, how)).map((term) => el('li', {}, term)));
  };
  const submit = (/** @type {Event} */ event) => {
    event.preventDefault();
    const { source, list, own, plan } = what.read();
    [what.own, what.plan, how.rounds, how.limit, how.reveal].forEach((one) => one.blame(''));
    tell(whole, '');
    judge(what, how);
    if (focusFault(form)) {
      return;
    }
    if (source !== 'plan' && how.tasks.read().length === 0) {
      how.tasks.inputs[0]?.focus();
      return;
    }
    const hello = {
      type: /** @type {const} */ ('open'),
      key: app.key,
      settings: settingsOf(list, how),
      plan: plan || null,
      own_list: own || null,
    };
    if (new TextEncoder().encode(JSON.stringify(hello)).length > MESSAGE_BYTES) {
      (source === 'plan' ? what.plan : what.own).blame('This text is too long: the server takes 16 KiB in all.');
      focusFault(form);
      return;
    }
    app.open(hello);
  };
  const form = el(
    'form',
    { novalidate: true, onsubmit: submit, oninput: update, onchange: update, autocomplete: 'off' },
    block('Muscles', what.node),
    block('Rounds', how.planned, how.tasks.node, how.adaptive.node, el('div', { class: 'fields' }, how.rounds.node, how.limit.node), how.pace.node, how.reveal.node),
    block('Marking', how.rule.node, how.spelling.node),
    block('Section', how.section.node),
    block('Students will be told', told),
    whole,
    el('p', { class: 'buttons' },
      el('button', { class: 'main', type: 'submit' }, 'Open the review'),
      el('button', { type: 'button', onclick: () => app.go('front') }, 'Back')),
  );
  update();
  const blame = (/** @type {Fault} */ fault) => blamed(fault, what, whole);
  return { node: el('div', { class: 'front' }, el('h1', { tabindex: -1 }, 'Open a review'), form), title: 'Open a review', blame };
}

/** @typedef {ReturnType<typeof fields>} Fields */
/** @typedef {ReturnType<typeof choosing>} What */

function fields() {
  const seconds = { type: 'number', min: 1, max: MOST_SECONDS, inputmode: 'numeric' };
  return {
    planned: el('p', { class: 'note' }, 'The plan says which rounds are held, and of what kind. A limit in it goes before this one.'),
    tasks: choices('checkbox', 'tasks', 'What rounds ask for', TASKS, ['name']),
    adaptive: choices('checkbox', 'adaptive', 'Which muscle comes next', ADAPTIVE, []),
    rounds: field('rounds', 'Number of rounds', {
      hint: 'Left empty: each muscle once.', type: 'number', min: 1, max: MOST_ROUNDS, inputmode: 'numeric',
    }),
    limit: field('limit', 'Time limit, in seconds', {
      hint: 'From 1 to 600. Single students may be given more.', value: '45', ...seconds,
    }),
    pace: choices('radio', 'pace', 'Who moves it on', PACES, ['instructor']),
    reveal: field('reveal', 'How long an answer stays, in seconds', { value: '15', ...seconds }),
    rule: choices('radio', 'rule', 'How points are given', RULES, ['speed_weighted']),
    spelling: choices('radio', 'spelling', 'Spelling', SPELLINGS, ['tolerant']),
    section: field('section', 'Section of the course', {
      hint: 'Such as Lab A, so that reports can tell sections apart. May be left out.', maxlength: 40, dir: 'auto',
    }),
  };
}

/**
 * @param {string} list
 * @param {Fields} how
 * @returns {ReviewSettings}
 */
function settingsOf(list, how) {
  const [first = 'name', ...others] = how.tasks.read();
  const automatic = how.pace.read()[0] === 'automatic';
  return {
    list,
    rounds: Number(how.rounds.input.value) || 0,
    limit_ms: milliseconds(how.limit.input.value),
    tasks: [first, ...others],
    rule: how.rule.read()[0] ?? 'speed_weighted',
    spelling: how.spelling.read()[0] ?? 'tolerant',
    pace: automatic
      ? { kind: 'automatic', reveal_ms: milliseconds(how.reveal.input.value) }
      : { kind: 'instructor' },
    adaptive: how.adaptive.read().length > 0,
    section: how.section.input.value.trim() || null,
  };
}

/** @param {string} seconds */
function milliseconds(seconds) {
  return Math.round(Number(seconds) * 1000) || 0;
}

/**
 * What students will be told of it, in the words that they will read.
 * @param {ReviewSettings} settings
 */
function preview({ limit_ms = 0, tasks = ['name'], rule = 'speed_weighted', spelling = 'tolerant', pace }) {
  /** @type {ReviewInfo} */
  const info = {
    review: '', word: '', list: '', rounds: 0, limit_ms, tasks, rule, spelling, pace: pace ?? { kind: 'instructor' },
  };
  return terms(info, { kind: 'standard' });
}

/**
 * Finds what is wrong before the server is asked.
 * @param {What} what
 * @param {Fields} how
 */
function judge(what, how) {
  const { source, own, plan } = what.read();
  if (source === 'own' && !own.trim()) {
    what.own.blame('A muscle list is needed: choose a file, or type one.');
  }
  if (source === 'plan' && !plan.trim()) {
    what.plan.blame('A plan is needed: have one proposed, choose a file, or type one.');
  }
  if (source !== 'plan') {
    within(how.rounds, 1, MOST_ROUNDS, true);
    how.tasks.blame(how.tasks.read().length === 0 ? 'Choose at least one.' : '');
  }
  within(how.limit, 1, MOST_SECONDS, false);
  if (how.pace.read()[0] === 'automatic') {
    within(how.reveal, 1, MOST_SECONDS, false);
  }
}

/**
 * @param {import('./desk-fields.js').Field} number
 * @param {number} least
 * @param {number} most
 * @param {boolean} mayBeEmpty
 */
function within({ input, blame }, least, most, mayBeEmpty) {
  const value = Number(input.value);
  const empty = input.value === '' && !input.validity.badInput;
  const fits = empty ? mayBeEmpty : Number.isInteger(value) && value >= least && value <= most;
  blame(fits ? '' : `A whole number from ${least} to ${most}.`);
}

/**
 * What the server found, at the text that it is about: its lines begin with the name of the text.
 * @param {Fault} fault
 * @param {What} what
 * @param {HTMLElement} whole
 */
function blamed({ text: found }, what, whole) {
  const text = /^\w+:\d+:/m.test(found) ? found : sentence(found);
  const { source } = what.read();
  if (/^own_list:/m.test(text) && source !== 'list') {
    what.own.blame(text);
  } else if (source === 'plan') {
    what.plan.blame(text);
  } else if (source === 'own') {
    what.own.blame(text);
  } else {
    tell(whole, text);
  }
}

/** @type {readonly (readonly [Task, string, string?])[]} */
const TASKS = [
  ['name', 'A muscle’s name, from clues'],
  ['picture', 'A muscle’s name, from a picture of its line of pull'],
  ['movement', 'A movement that it makes, from its attachments'],
  ['contrast', 'Which of two near muscles the clues describe'],
];

/** @type {readonly (readonly ['adaptive', string, string?])[]} */
const ADAPTIVE = [
  [
    'adaptive',
    'Chosen by what the class has answered so far',
    'Otherwise the order is drawn beforehand. The report gives no reliability for a review whose rounds were chosen.',
  ],
];

/** @type {readonly (readonly [Exclude<Pace['kind'], 'group'>, string, string?])[]} */
const PACES = [
  ['instructor', 'You open each round and show its answer'],
  ['automatic', 'Rounds follow each other by themselves', 'You start it, and can go ahead of the clock or pause.'],
];

/** @type {readonly (readonly [ScoreRule, string, string?])[]} */
const RULES = [
  ['speed_weighted', 'A wrong answer costs nothing', 'A quick right answer earns more than a slow one; a slow right one earns more than any near-miss.'],
  [
    'signed_residual_time',
    'A wrong answer costs points',
    'It costs as much as a right one would earn at that moment, so guessing does not pay. No answer is 0.',
  ],
];

/** @type {readonly (readonly [Spelling, string, string?])[]} */
const SPELLINGS = [
  ['tolerant', 'A slip counts if only one muscle can be meant'],
  ['strict', 'As in a practical: a misspelt name is wrong'],
];
