// The parts of a reveal and of the standings that pages share. Each is a function from plain data to
// nodes; a page puts them in its own order. Looks are in base.css.
//
//   answerOf(reveal)                      // name, Latin, movements, what it was offered beside
//   spread(reveal.spread, reveal.silent, { reveal, own })   // bars with numbers, as a list
//   lesson(reveal)                        // pictures, contrast, explanations: sections with headings
//   clueList(clues, { toCome: 2 })        // numbered clues
//   standings(rows, of)                   // the first places
//   difference(apart)                     // one feature that separates two muscles

/**
 * @import { ClueShown, ContrastShown, DifferenceShown, Reveal, SpreadRow, StandingRow, Task, Verdict } from './wire.js'
 */

import { el, named } from './dom.js';
import { drawn, drawnPair, plate } from './picture.js';
import { SIGN, VERDICT, count, isRight, points, pointsTo } from './words.js';

/**
 * The answer: the muscle's name and Latin, the right movements, what it was offered beside.
 * @param {Reveal} reveal
 * @param {'h1' | 'h2'} [heading]
 */
export function answerOf(reveal, heading = 'h2') {
  const movements = reveal.movements ?? [];
  const beside = reveal.task === 'contrast' && reveal.contrast;
  return el(
    'div',
    { class: 'answer' },
    el(heading, {}, reveal.answer.name),
    el('p', { class: 'latin', lang: 'la' }, reveal.answer.latin),
    movements.length > 0 ? el('p', {}, `Right: ${movements.join(', ')}.`) : null,
    beside ? el('p', {}, `Offered beside ${beside.said}.`) : null,
  );
}

/**
 * A verdict: its sign and its word.
 * @param {Verdict} verdict
 */
export function verdictOf(verdict) {
  return el(
    'span',
    { class: `verdict ${verdict}` },
    el('span', { class: 'sign', 'aria-hidden': 'true' }, SIGN[verdict]),
    VERDICT[verdict],
  );
}

/**
 * How the answers of a class are spread over names, commonest first, then those without an answer. `reveal`
 * tells what was right, once that may be told; `own` is the reader's answer, to be marked.
 * @param {readonly SpreadRow[]} rows
 * @param {number} silent
 * @param {{ reveal?: Reveal, own?: { answer?: string | null, verdict: Verdict } | null }} [more]
 */
export function spread(rows, silent, { reveal, own } = {}) {
  /** @type {SpreadRow[]} */
  const all = silent > 0 ? [...rows, { name: 'no answer', count: silent, verdict: 'silent' }] : [...rows];
  const most = Math.max(1, ...all.map((row) => row.count));
  return el(
    'ul',
    { class: 'spread' },
    all.map((row) => {
      const misspelt = reveal && isRight(reveal, row.name) && row.verdict !== 'right';
      const yours = own && row.verdict === own.verdict && row.name === (own.answer ?? 'no answer');
      const bar = el('span', { class: `bar ${row.verdict}`, 'aria-hidden': 'true' });
      bar.style.setProperty('--share', String(row.count / most));
      return el(
        'li',
        { class: yours ? 'yours' : null },
        el(
          'span',
          { class: 'said' },
          row.verdict === 'silent' ? row.name : [row.name, misspelt ? ', misspelt' : null, ' '],
          row.verdict === 'silent' ? null : verdictOf(row.verdict),
          yours ? el('span', { class: 'mark' }, ' yours') : null,
        ),
        bar,
        el('span', { class: 'number' }, String(row.count)),
      );
    }),
  );
}

/**
 * What a reveal teaches: pictures, what tells apart, and why the muscle does what it does, as sections.
 * @param {Reveal} reveal
 * @returns {HTMLElement[]}
 */
export function lesson(reveal) {
  const why = reveal.explanations ?? [];
  return [
    section('Where it runs', pictures(reveal)),
    reveal.contrast
      ? section('What tells them apart', ...contrast(reveal.contrast, reveal.task ?? 'name'))
      : null,
    why.length > 0
      ? section('Why it does what it does', ...why.map((sentence) => el('p', {}, sentence)))
      : null,
  ].filter((part) => part !== null);
}

/**
 * The pictures of a reveal; a plate of its names where there is none.
 * @param {Reveal} reveal
 */
export function pictures(reveal) {
  const [first, second] = reveal.pictures ?? [];
  if (!first) {
    return plate(reveal.answer.name, reveal.answer.latin);
  }
  if (second && reveal.contrast) {
    return drawnPair(first, second, [reveal.answer.name, reveal.contrast.said]);
  }
  return drawn(first);
}

/**
 * A part of a page with its heading.
 * @param {string} title
 * @param {...(Node | null)} children
 */
export function section(title, ...children) {
  return el('section', {}, el('h2', {}, title), ...children);
}

/**
 * The muscle asked beside the one that was answered most, or that was offered: a table and what is true of both.
 * @param {ContrastShown} contrast
 * @param {Task} task
 * @returns {HTMLElement[]}
 */
export function contrast(contrast, task) {
  const [verb, second] = task === 'contrast' ? ['chose', 'beside'] : ['said', 'said'];
  const who = contrast.count === 0 ? 'Nobody' : count(contrast.count, 'student');
  return [
    el('p', {}, `${who} ${verb} ${contrast.said}.`),
    el('div', { class: 'wide' }, apartTable(contrast, second)),
    contrast.shared.length === 0
      ? el('p', {}, 'No clue is true of both.')
      : el('div', { class: 'shared' }, el('p', {}, 'True of both:'), bullets(contrast.shared)),
  ];
}

/**
 * The aspect stands above its two cells, so that the table has two columns and fits a phone.
 * @param {ContrastShown} contrast
 * @param {string} second What the second muscle was.
 */
function apartTable({ asked, said, apart }, second) {
  const head = (/** @type {string} */ role, /** @type {string} */ name) =>
    el('th', { scope: 'col' }, el('small', {}, role), ' ', name);
  const rows = (/** @type {DifferenceShown} */ row) =>
    el(
      'tbody',
      {},
      el('tr', {}, el('th', { scope: 'rowgroup', colspan: 2 }, aspect(row.aspect))),
      // In a very narrow place the cells stand one under the other, each with its name.
      el('tr', {}, el('td', { 'data-of': asked }, row.asked), el('td', { 'data-of': said }, row.said)),
    );
  return el(
    'table',
    { class: 'contrast' },
    el('thead', {}, el('tr', {}, head('asked', asked), head(second, said))),
    apart.map(rows),
  );
}

/** @param {readonly string[]} sentences */
function bullets(sentences) {
  return el('ul', {}, sentences.map((sentence) => el('li', {}, sentence)));
}

/**
 * One feature that separates two muscles, under their names.
 * @param {DifferenceShown} apart
 * @param {readonly [string, string]} [names] Of the muscle asked, and of the one said.
 */
export function difference(apart, [asked, said] = ['asked', 'said']) {
  return el(
    'dl',
    { class: 'difference' },
    el('div', {}, el('dt', {}, asked, ' ', aspect(apart.aspect)), el('dd', {}, apart.asked)),
    el('div', {}, el('dt', {}, said, ' ', aspect(apart.aspect)), el('dd', {}, apart.said)),
  );
}

/**
 * What a clue or a difference speaks of, in small capitals.
 * @param {string} kind
 */
export function aspect(kind) {
  return el('span', { class: 'aspect' }, kind);
}

/**
 * Clues one under the other, numbered. `newest` marks the last one; `toCome` is how many are not shown yet.
 * @param {readonly ClueShown[]} clues
 * @param {{ newest?: boolean, toCome?: number }} [more]
 */
export function clueList(clues, { newest = false, toCome = 0 } = {}) {
  return el(
    'div',
    { class: 'clues' },
    el('ol', {}, clues.map((clue, at) => clueItem(clue, newest && at + 1 === clues.length))),
    toCome > 0 ? el('p', { class: 'note' }, `${count(toCome, 'more clue')} to come`) : null,
  );
}

/**
 * One clue: what it speaks of, its sentence, and its picture where it is one.
 * @param {ClueShown} clue
 * @param {boolean} [newest]
 */
export function clueItem(clue, newest = false) {
  return el(
    'li',
    { class: newest ? 'newest' : null },
    aspect(clue.kind),
    ' ',
    el('span', { class: 'clue' }, clue.text),
    clue.picture ? drawn(clue.picture) : null,
  );
}

/**
 * The first places of `of` students, once known. One who is not listed has a place without a name.
 * @param {readonly StandingRow[]} rows
 * @param {number | null} of
 */
export function standings(rows, of) {
  const total = of === null ? null : el('p', { class: 'note' }, `${count(of, 'student')} in all`);
  // A first place that everyone has says nothing.
  if (rows.every((row) => row.place === 1 && points(row.points) === '0')) {
    return el('div', {}, el('p', {}, 'No points yet.'), total);
  }
  const decimals = finest(rows);
  const cell = (/** @type {StandingRow} */ row) => [
    el('td', { class: 'number' }, String(row.place)),
    el('td', {}, row.name ? named(row.name) : el('span', { class: 'note' }, '(not listed)')),
    el('td', { class: 'number' }, pointsTo(row.points, decimals)),
  ];
  const heads = ['Place', 'Student', 'Points'].map((head) => el('th', { scope: 'col' }, head));
  return el(
    'div',
    {},
    el(
      'table',
      { class: 'standings' },
      el('thead', {}, el('tr', {}, heads)),
      el('tbody', {}, rows.map((row) => el('tr', {}, cell(row)))),
    ),
    total,
  );
}

/**
 * The fewest decimals, at most two, at which neighbours of different places read differently.
 * @param {readonly StandingRow[]} rows
 */
function finest(rows) {
  const tellsApart = (/** @type {number} */ decimals) =>
    rows.every((row, at) => {
      const next = rows[at + 1];
      return (
        !next ||
        next.place === row.place ||
        pointsTo(next.points, decimals) !== pointsTo(row.points, decimals)
      );
    });
  return [0, 1].find(tellsApart) ?? 2;
}
