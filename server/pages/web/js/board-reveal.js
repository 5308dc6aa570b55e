// A round is revealed: the answer, how the class did, and what there is to learn from it.

/**
 * @import { App, View } from './board-app.js'
 * @import { Revealed } from './state.js'
 * @import { Reveal } from './wire.js'
 */

import { el, fill, show } from './dom.js';
import { answerOf, clueItem, contrast, pictures, section, spread, standings } from './reveal.js';
import { count } from './words.js';

/** Places shown after a round; the whole table stands at the end. */
const PLACES = 5;

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
      reveal.contrast
        ? section('What tells them apart', ...contrast(reveal.contrast, reveal.task ?? 'name'))
        : null,
      clues(reveal),
    ),
  );
  app.read(`Round ${round} of ${of}: ${reveal.answer.name}. ${summed(reveal)}`);
  return { title: `Round ${round} of ${of}: ${reveal.answer.name}`, node, update: places.update };
}

/** @param {Reveal} reveal */
function answers(reveal) {
  const none = reveal.spread.length === 0 && reveal.silent === 0;
  return section('Answers', none ? el('p', {}, 'Nobody was here to answer.') : spread(reveal.spread, reveal.silent, { reveal }));
}

/**
 * The clues with what explains them.
 * @param {Reveal} reveal
 */
function clues({ clues: shown, explanations = [] }) {
  return el(
    'section',
    { class: 'told' },
    el('h2', {}, 'The clues, and why'),
    el('div', { class: 'clues' }, el('ol', {}, shown.map((clue) => clueItem(clue)))),
    explanations.map((sentence) => el('p', { class: 'why' }, sentence)),
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

