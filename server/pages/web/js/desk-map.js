// What the class confuses: a map of all muscles answered for others, the hardest ones, and what separates pairs.

/**
 * @import { App } from './desk-app.js'
 * @import { HardRow, MapCell, PairRow, WeakSpots } from './wire.js'
 */

import { inOrder } from './desk-order.js';
import { part } from './desk-part.js';
import { el } from './dom.js';
import { difference } from './reveal.js';

/** More columns than this need the whole width of a laptop. */
const NARROW = 6;

/**
 * It stands beside the round while it is small and the review runs, and else below over the whole width.
 * @param {App} app
 * @param {HTMLElement} beside
 * @param {HTMLElement} below
 */
export function mapPanel(app, beside, below) {
  const body = el('div', { class: 'parts' });
  const fresh = part(body);
  const node = el('section', { class: 'confusions' }, el('h2', {}, 'What the class confuses'), body);
  const update = () => {
    const { weakSpots, review } = app.held;
    const columns = new Set((weakSpots.map ?? []).map((cell) => cell.said)).size;
    const place = columns > NARROW || review.stage.phase === 'ended' ? below : beside;
    if (node.parentNode !== place) {
      place.append(node);
    }
    fresh([weakSpots], () => {
      const moves = (review.info.tasks ?? []).includes('movement');
      return isEmpty(weakSpots) ? nothing(moves) : [map(weakSpots.map ?? []), lists(weakSpots)];
    });
  };
  return { update };
}

/** @param {WeakSpots} spots */
function isEmpty({ hardest, pairs, map: cells }) {
  return hardest.length === 0 && pairs.length === 0 && (cells ?? []).length === 0;
}

/** @param {boolean} moves */
function nothing(moves) {
  return [
    el('p', {}, 'Nothing yet: the first reveal begins it.'),
    moves ? el('p', { class: 'note' }, 'Movements stand in the report alone.') : null,
  ];
}

/** @param {readonly MapCell[]} cells */
function map(cells) {
  if (cells.length === 0) {
    return el('p', {}, 'No muscle was taken for another.');
  }
  const order = inOrder(cells);
  const rows = order.filter((name) => cells.some((cell) => cell.asked === name));
  const columns = order.filter((name) => cells.some((cell) => cell.said === name));
  const table = el(
    'table',
    { class: 'map', 'aria-describedby': 'map-says' },
    el('thead', {},
      el('tr', {},
        el('th', { scope: 'col', class: 'corner' }, 'asked ↓  answered →'),
        columns.map((name) => el('th', { scope: 'col' }, el('span', {}, name))))),
    el('tbody', {}, rows.map((asked) => mapRow(asked, columns, cells))),
  );
  return el(
    'div',
    { class: 'whole' },
    el('p', { class: 'note', id: 'map-says' }, SAYS),
    el('div', { class: 'scroll', role: 'region', tabindex: 0, 'aria-label': 'Map of confusions' }, table),
  );
}

/**
 * @param {string} asked
 * @param {readonly string[]} columns
 * @param {readonly MapCell[]} cells
 */
function mapRow(asked, columns, cells) {
  const own = cells.filter((cell) => cell.asked === asked);
  const of = Math.max(...own.map((cell) => cell.of));
  return el(
    'tr',
    {},
    el('th', { scope: 'row' }, asked, ' ', el('small', {}, `of ${of}`)),
    columns.map((said) => {
      const cell = own.find((one) => one.said === said);
      if (!cell) {
        return el('td', { class: said === asked ? 'self' : null });
      }
      const share = cell.of > 0 ? cell.count / cell.of : 0;
      const node = el('td', { class: 'some' }, el('b', {}, String(cell.count)), ' ', el('small', {}, percent(share)));
      node.style.setProperty('--share', String(share));
      return node;
    }),
  );
}

/** @param {WeakSpots} spots */
function lists({ hardest, pairs }) {
  return el(
    'div',
    { class: 'lists' },
    el('div', {}, el('h3', {}, 'Hardest first'), hardestTable(hardest)),
    el('div', {}, el('h3', {}, 'What separates them'), pairs.length === 0
      ? el('p', {}, 'No muscle was taken for another.')
      : el('ol', { class: 'pairs' }, pairs.map(pair))),
  );
}

/** @param {readonly HardRow[]} rows */
function hardestTable(rows) {
  const heads = ['Muscle', 'Right', 'Share', '95 % interval'].map((head) => el('th', { scope: 'col' }, head));
  return el(
    'table',
    { class: 'hardest' },
    el('thead', {}, el('tr', {}, heads)),
    el('tbody', {}, rows.map(({ muscle, right, asked, low, high }) =>
      el('tr', {},
        el('th', { scope: 'row' }, muscle),
        el('td', { class: 'number' }, `${right} of ${asked}`),
        el('td', { class: 'number' }, asked > 0 ? percent(right / asked) : '–'),
        el('td', { class: 'number' }, `${whole(low)} to ${percent(high)}`)))),
  );
}

/** @param {PairRow} row */
function pair({ asked, said, count, of, apart }) {
  return el(
    'li',
    {},
    el('p', {}, el('strong', {}, asked), ' taken for ', el('strong', {}, said), el('span', { class: 'number' }, `${count} of ${of}`)),
    apart ? difference(apart, [asked, said]) : null,
  );
}

/** @param {number} share */
function percent(share) {
  return `${whole(share)} %`;
}

/** @param {number} share */
function whole(share) {
  return String(Math.round(share * 100));
}

const SAYS =
  'Each row is a muscle that was asked for; each column, one that was answered in its place. Students, and their ' +
  'share of those asked: the larger the share, the stronger the shade.';
