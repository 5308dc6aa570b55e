// A round is revealed: the answer, how the class did, and what there is to learn from it.

/**
 * @import { App, View } from './board-app.js'
 * @import { Revealed } from './state.js'
 * @import { ContrastShown, DifferenceShown, Reveal } from './wire.js'
 */

import { el, fill, show } from './dom.js';
import { answerOf, aspect, clueItem, pictures, section, spread, standings } from './reveal.js';
import { count } from './words.js';

/** Places shown after a round; the whole table stands at the end. */
const PLACES = 5;
/** Names in the spread, features that tell two muscles apart, and beside those clues and reasons together; the
    pages of students have all of them. */
const NAMES = 5;
const DIFFERENCES = 3;
const LESSONS = 6;

/**
 * The reveal of a round.
 * @param {App} app
 * @param {Revealed} stage
 * @returns {View}
 */
export function revealView(app, { round, of, reveal }) {
  const places = firstPlaces(app);
  const node = el(
    'div',
    { class: `reveal ${reveal.contrast ? 'two' : 'one'}` },
    el('div', { class: 'own' }, answerOf(reveal, 'h1'), answers(reveal), places.node),
    el(
      'div',
      { class: 'learn' },
      el('div', { class: 'seen' }, pictures(reveal)),
      el('div', { class: 'flow' }, reveal.contrast ? twoMuscles(reveal.contrast, reveal.task) : null, clues(reveal)),
    ),
  );
  app.read(`Round ${round} of ${of}: ${reveal.answer.name}. ${summed(reveal)}`);
  return { title: `Round ${round} of ${of}: ${reveal.answer.name}`, node, update: places.update };
}

/**
 * How the class answered: the commonest names, and always the right one.
 * @param {Reveal} reveal
 */
function answers(reveal) {
  const { spread: all, silent } = reveal;
  if (all.length === 0 && silent === 0) {
    return section('Answers', el('p', {}, 'Nobody was here to answer.'));
  }
  const rows = all.filter((row, at) => at < NAMES || row.verdict === 'right');
  const rest = all.filter((row) => !rows.includes(row)).reduce((sum, row) => sum + row.count, 0);
  return section(
    'Answers',
    spread(rows, silent, { reveal }),
    rest > 0
      ? el('p', { class: 'others' }, `${count(rest, 'student')} gave ${count(all.length - rows.length, 'other answer')}.`)
      : null,
  );
}

/**
 * The two muscles in two columns, most telling first, and what is true of both.
 * @param {ContrastShown} contrast
 * @param {Reveal['task']} task
 */
function twoMuscles({ asked, said, count: students, apart, shared }, task) {
  const verb = task === 'contrast' ? 'chosen' : 'said';
  const by = students === 0 ? `${verb} by nobody` : `${verb} by ${count(students, 'student')}`;
  const head = el(
    'tr',
    {},
    el('td'),
    el('th', { scope: 'col' }, asked, ' ', el('small', {}, 'asked')),
    el('th', { scope: 'col' }, said, ' ', el('small', {}, by)),
  );
  const row = (/** @type {DifferenceShown} */ one) =>
    el('tr', {}, el('th', { scope: 'row' }, aspect(one.aspect)), el('td', {}, one.asked), el('td', {}, one.said));
  return section(
    'What tells them apart',
    el(
      'table',
      { class: 'differences' },
      el('thead', {}, head),
      el('tbody', {}, apart.slice(0, DIFFERENCES).map(row)),
    ),
    shared.length > 0 ? el('p', { class: 'why' }, `True of both: ${shared.slice(0, DIFFERENCES).join(' ')}`) : null,
  );
}

/**
 * The clues that were sentences, with what explains them; nothing where there is neither.
 * @param {Reveal} reveal
 */
function clues({ clues: all, explanations = [], contrast }) {
  const told = all.filter((clue) => clue.kind !== 'picture');
  if (told.length + explanations.length === 0) {
    return null;
  }
  const reasons = contrast ? explanations.slice(0, Math.min(3, Math.max(1, LESSONS - told.length))) : explanations;
  return el(
    'section',
    { class: 'told' },
    el('h2', {}, told.length > 0 ? 'The clues, and why' : 'Why it does what it does'),
    told.length > 0 ? el('div', { class: 'clues' }, el('ol', {}, told.map((clue) => clueItem(clue)))) : null,
    reasons.map((sentence) => el('p', { class: 'why' }, sentence)),
  );
}

/** @param {Reveal} reveal */
function summed({ spread: rows, silent }) {
  const right = rows.filter((row) => row.verdict === 'right').reduce((sum, row) => sum + row.count, 0);
  const all = rows.reduce((sum, row) => sum + row.count, silent);
  return `${right} of ${count(all, 'student')} answered right.`;
}

/**
 * The first places, for as long as they are wanted.
 * @param {App} app
 */
function firstPlaces(app) {
  const node = section('Standings');
  const table = el('div');
  node.append(table);
  let told = '';
  const update = () => {
    const { standings: rows, standingsOf } = app.seen.review;
    const says = JSON.stringify([rows, standingsOf]);
    if (says !== told) {
      told = says;
      fill(table, standings(rows.slice(0, PLACES), standingsOf));
    }
    show(node, app.listsStandings && rows.length > 0);
  };
  return { node, update };
}

