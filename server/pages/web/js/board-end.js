// The review is over: what was hard, what was taken for what, and the standings.

/**
 * @import { App, View } from './board-app.js'
 * @import { HardRow, PairRow, WeakSpots } from './wire.js'
 * @import { Stage } from './state.js'
 */

import { el, fill, show } from './dom.js';
import { difference, section, standings } from './reveal.js';
import { count, endWhy } from './words.js';

/** Muscles and pairs that carry to the back of a room; all of them stand in the report. */
const MUSCLES = 6;
const PAIRS = 4;

/**
 * The end of a review.
 * @param {App} app
 * @param {Extract<Stage, { phase: 'ended' }>} stage
 * @returns {View}
 */
export function endedView(app, { why }) {
  const weak = el('div', { class: 'weak' });
  const places = section('Standings');
  const table = el('div');
  places.append(table);
  let told = '';
  const update = () => {
    const { weakSpots, review } = app.seen;
    const says = JSON.stringify([weakSpots, review.standings, review.standingsOf]);
    if (says !== told) {
      told = says;
      fill(weak, weakSpots ? spots(weakSpots) : []);
      fill(table, standings(review.standings, review.standingsOf));
    }
    show(places, app.listsStandings && review.standings.length > 0);
  };
  const said = endWhy(why, app.seen.review.info.pace);
  app.read(`The review is over. ${said}`);
  const head = el('div', { class: 'asked' }, el('h1', {}, 'The review is over'), el('p', {}, said));
  return { title: 'The review is over', node: el('div', { class: 'ended' }, head, weak, places), update };
}

/** @param {WeakSpots} spots */
function spots({ hardest, pairs }) {
  return [
    section('Hardest first', ...hard(hardest)),
    section('Confused: asked → said', ...confused(pairs)),
  ];
}

/** @param {readonly HardRow[]} rows */
function hard(rows) {
  if (rows.length === 0) {
    return [el('p', {}, 'No muscle was asked for by its name.')];
  }
  return [
    el(
      'table',
      { class: 'hardest' },
      el(
        'thead',
        {},
        el('tr', {}, ['Muscle', 'Right', '95 % interval'].map((head) => el('th', { scope: 'col' }, head))),
      ),
      el('tbody', {}, rows.slice(0, MUSCLES).map(hardRow)),
    ),
    more(rows.length - MUSCLES, 'more muscle'),
  ];
}

/** @param {HardRow} row */
function hardRow({ muscle, right, asked, low, high }) {
  const range = el('span', { class: 'range', 'aria-hidden': 'true' }, el('span'), el('i'));
  range.style.setProperty('--low', String(low));
  range.style.setProperty('--high', String(high));
  range.style.setProperty('--share', String(asked === 0 ? 0 : right / asked));
  return el(
    'tr',
    {},
    el('th', { scope: 'row' }, muscle),
    el('td', { class: 'number' }, `${right} of ${asked}`),
    el('td', {}, range, el('span', { class: 'numbers' }, `${percent(low)} to ${percent(high)} %`)),
  );
}

/** @param {readonly PairRow[]} pairs */
function confused(pairs) {
  if (pairs.length === 0) {
    return [el('p', {}, 'No muscle was taken for another.')];
  }
  return [
    el('ul', { class: 'pairs' }, pairs.slice(0, PAIRS).map(pair)),
    more(pairs.length - PAIRS, 'more pair'),
  ];
}

/** @param {PairRow} row */
function pair({ asked, said, count: students, of, apart }) {
  return el(
    'li',
    {},
    el('p', { class: 'pair' }, `${asked} → ${said} `, el('span', { class: 'number' }, `${students} of ${of}`)),
    apart ? difference(apart, [asked, said]) : null,
  );
}

/**
 * @param {number} left
 * @param {string} noun
 */
function more(left, noun) {
  return left > 0 ? el('p', { class: 'note' }, `${count(left, noun)}: see the report`) : null;
}

/** @param {number} share */
function percent(share) {
  return Math.round(share * 100);
}
