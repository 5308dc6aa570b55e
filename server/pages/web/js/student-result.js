// The reveal of a round with the student's own result, and the end of the review with the student's own
// summary.

/**
 * @import { Again, OwnResult, Summary, SummaryRow } from './wire.js'
 * @import { App, View } from './student-app.js'
 */

import { el, fill, named } from './dom.js';
import { answerOf, clueList, difference, lesson, section, spread, standings, verdictOf } from './reveal.js';
import { VERDICT, endWhy, somePoints, standing } from './words.js';

/**
 * The answer, the student's own result, and how the class did.
 * @param {App} app
 * @returns {View}
 */
export function revealView(app) {
  const { stage } = app.seated.review;
  if (stage.phase !== 'revealed') {
    throw new Error('This view is of a reveal.');
  }
  const { reveal, round, of } = stage;
  const own = el('div', { class: 'own' });
  const answers = el('section');
  const places = el('section');
  const results = once(() => app.seated.result, (result) => {
    fill(own, ...ownResult(result));
    fill(
      answers,
      el('h2', {}, 'How the class answered'),
      spread(reveal.spread, reveal.silent, { reveal, own: result }),
    );
    const yours = result ? ` You: ${VERDICT[result.verdict]}, ${somePoints(result.points)}.` : '';
    app.read(`The answer is ${reveal.answer.name}.${yours}`);
  });
  const standing = once(() => app.seated.review.standings, () => fill(places, ...placesOf(app)));
  const node = el(
    'div',
    { class: 'reveal' },
    answerOf(reveal, 'h1'),
    own,
    answers,
    ...lesson(reveal),
    section(reveal.clues.length === 1 ? 'The clue' : 'All clues', clueList(reveal.clues)),
    places,
  );
  node.querySelector('h1')?.setAttribute('tabindex', '-1');
  const update = () => {
    results();
    standing();
  };
  return { title: `Round ${round} of ${of}: ${reveal.answer.name}`, node, update };
}

/**
 * The end of the review.
 * @param {App} app
 * @returns {View}
 */
export function endedView(app) {
  const { stage, info } = app.seated.review;
  const why = stage.phase === 'ended' ? endWhy(stage.why, info.pace) : '';
  const own = el('div');
  const places = el('section');
  app.read(`The review is over. ${why}`);
  const summary = once(() => app.seated.summary, (told) => fill(own, ...(told ? summaryOf(told) : [])));
  const standing = once(() => app.seated.review.standings, () => fill(places, ...placesOf(app)));
  const node = el(
    'div',
    { class: 'ended' },
    el('h1', { tabindex: -1 }, 'The review is over'),
    el('p', {}, why),
    own,
    places,
    el('p', {}, el('button', { type: 'button', onclick: () => app.backToForm() }, 'Join another review')),
  );
  const update = () => {
    summary();
    standing();
  };
  return { title: 'The review is over', node, update };
}

/**
 * Draws a part whenever what it is drawn from is another.
 * @template T
 * @param {() => T} value
 * @param {(value: T) => void} draw
 */
function once(value, draw) {
  /** @type {T | undefined} */
  let drawn;
  return () => {
    const now = value();
    if (now !== drawn) {
      drawn = now;
      draw(now);
    }
  };
}

/**
 * @param {OwnResult | null} result
 * @returns {HTMLElement[]}
 */
function ownResult(result) {
  if (!result) {
    return [el('p', {}, 'You were not here in this round.')];
  }
  const answer = result.answer ? el('span', {}, `you answered ${result.answer}`) : null;
  return [
    el('p', { class: 'outcome' }, verdictOf(result.verdict), answer, el('strong', {}, somePoints(result.points))),
    el('p', { class: 'note' }, standing(result)),
  ];
}

/** @param {App} app */
function placesOf({ seated: { review, result, summary } }) {
  const own = summary ?? result;
  return [
    el('h2', {}, 'Standings'),
    standings(review.standings, review.standingsOf),
    own ? el('p', {}, 'You: ', standing(own)) : null,
  ];
}

/**
 * @param {Summary} summary
 * @returns {Node[]}
 */
function summaryOf(summary) {
  return [
    el('p', { class: 'outcome' }, el('strong', {}, standing(summary))),
    section(
      'Look at these again',
      summary.again.length === 0
        ? el('p', {}, nothingAgain(summary))
        : el('ul', { class: 'again' }, summary.again.map((again) => el('li', {}, againOf(summary, again)))),
    ),
    section('Your rounds', roundsOf(summary.rounds)),
  ];
}

/** @param {Summary} summary */
function nothingAgain({ rounds }) {
  if (rounds.length === 0) {
    return 'Nothing: you were here in no round.';
  }
  const allRight = rounds.every((row) => row.verdict === 'right');
  return allRight ? 'Nothing: every answer was right.' : 'Nothing stands out.';
}

/**
 * @param {Summary} summary
 * @param {Again} again
 * @returns {(Node | string | null)[]}
 */
function againOf({ rounds }, again) {
  const { muscle, said, apart } = again;
  const task = again.task ?? 'name';
  const silent = rounds.some(
    (row) => row.asked === muscle && (row.task ?? 'name') === task && row.verdict === 'silent',
  );
  const about = saidOf(muscle, said ?? null, task, silent);
  return [
    el('p', {}, el('strong', {}, muscle), about),
    apart ? difference(apart, [muscle, said ?? 'said']) : null,
  ];
}

/**
 * @param {string} muscle
 * @param {string | null} said
 * @param {string} task
 * @param {boolean} silent
 */
function saidOf(muscle, said, task, silent) {
  if (said === null) {
    return silent ? ': no answer' : '';
  }
  if (said === muscle) {
    return ': misspelt';
  }
  switch (task) {
    case 'movement':
      return `: you said that it makes ${said}`;
    case 'contrast':
      return `: you chose ${said}`;
    default:
      return `: you said ${said}`;
  }
}

/** @param {readonly SummaryRow[]} rows */
function roundsOf(rows) {
  const row = (/** @type {SummaryRow} */ { round, verdict, asked, answer, points: earned }) =>
    el(
      'li',
      { value: round },
      el('span', { class: 'asked' }, asked),
      verdictOf(verdict),
      answer && answer !== asked ? el('span', { class: 'note' }, 'you: ', named(answer)) : null,
      el('span', { class: 'number' }, somePoints(earned)),
    );
  return el('ol', { class: 'rounds' }, rows.map(row));
}
