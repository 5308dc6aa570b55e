// The round at hand, and how it is answered.

/**
 * @import { App } from './desk-app.js'
 * @import { Child } from './dom.js'
 * @import { Hand } from './desk-model.js'
 * @import { Review } from './state.js'
 */

import { left } from './clock.js';
import { answers } from './desk-model.js';
import { part } from './desk-part.js';
import { el, show, tell } from './dom.js';
import { answerOf, clueList, lesson, section, spread } from './reveal.js';
import { ASKED, CLOSE_WHY, count, endWhy, howItGoes, seconds, terms } from './words.js';

/**
 * What the class sees of the round, or the answer.
 * @param {App} app
 */
export function roundPanel(app) {
  const time = timeLine(app);
  const body = el('div');
  const fresh = part(body);
  let said = '';
  const update = () => {
    const { review } = app.held;
    const { stage } = review;
    time.update();
    fresh([stage, 'clues' in stage ? stage.clues.length : 0, review.info], () => stageParts(app.held.review));
    const read = toRead(review);
    if (read !== said) {
      said = read;
      app.read(read);
    }
  };
  return { node: el('section', { class: 'round' }, time.node, body), update };
}

/**
 * A sentence for those who hear the page.
 * @param {Review} review
 */
function toRead({ stage, info }) {
  switch (stage.phase) {
    case 'gathering':
      return 'The review has not begun.';
    case 'open':
      return `Round ${stage.round} of ${stage.of} is open.`;
    case 'closed':
      return CLOSE_WHY[stage.why];
    case 'revealed':
      return `Round ${stage.round}: the answer is ${stage.reveal.answer.name}.`;
    case 'skipped':
      return `Round ${stage.round} was skipped. It does not count.`;
    case 'ended':
      return endWhy(stage.why, info.pace);
  }
}

/**
 * @param {Review} review
 * @returns {Child}
 */
function stageParts({ stage, info }) {
  switch (stage.phase) {
    case 'gathering':
      return [
        el('h1', { tabindex: -1 }, 'The review has not begun'),
        el('p', {}, `Muscle list: ${info.list}. ${count(info.rounds, 'round')}. ${howItGoes(info)}`),
        el('details', {},
          el('summary', {}, 'What students are told'),
          el('ul', {}, terms(info, { kind: 'standard' }).map((term) => el('li', {}, term)))),
      ];
    case 'open':
      return [
        el('h1', { tabindex: -1 }, ASKED[stage.task]),
        offered(stage.offered),
        clues(stage.clues, stage.clueCount),
      ];
    case 'closed':
      return [
        el('h1', { tabindex: -1 }, 'The round is closed'),
        el('p', {}, CLOSE_WHY[stage.why]),
        offered(stage.offered),
        clues(stage.clues, stage.clues.length),
      ];
    case 'revealed':
      return [
        answerOf(stage.reveal, 'h1'),
        section('How the class answered', spread(stage.reveal.spread, stage.reveal.silent, { reveal: stage.reveal })),
        ...lesson(stage.reveal),
        section('Clues', clues(stage.reveal.clues, stage.reveal.clues.length)),
      ];
    case 'skipped':
      return [
        el('h1', { tabindex: -1 }, `Round ${stage.round} was skipped`),
        el('p', {}, 'It does not count.'),
      ];
    case 'ended':
      return [
        el('h1', { tabindex: -1 }, 'The review is over'),
        el('p', {}, endWhy(stage.why, info.pace)),
        el('p', {}, 'What the class confuses stands below, and the full report can be opened from here.'),
      ];
  }
}

/** @param {readonly string[]} names */
function offered(names) {
  return names.length > 0 ? el('p', { class: 'offered' }, `Offered: ${names.join(' or ')}.`) : null;
}

/**
 * @param {import('./wire.js').ClueShown[]} shown
 * @param {number} all
 */
function clues(shown, all) {
  const list = clueList(shown, { newest: shown.length < all, toCome: all - shown.length });
  // A single clue needs no number.
  list.querySelector('ol')?.classList.toggle('single', all === 1);
  return list;
}

/**
 * The class's time.
 * @param {App} app
 */
function timeLine(app) {
  const said = el('span', { role: 'timer' });
  const remark = el('strong', {});
  const bar = el('div', { class: 'timebar', 'aria-hidden': 'true' }, el('span'));
  const node = el('div', { class: 'time' }, el('p', {}, said, remark), bar);
  const update = () => {
    const { stage, halted } = app.held.review;
    show(node, stage.phase === 'open');
    if (stage.phase !== 'open') {
      return;
    }
    const rest = left(stage.watch.elapsed(), stage.limit) ?? 0;
    const own = app.shown ? ownTimes(app.held) : '';
    tell(said, rest > 0 ? `${seconds(rest)} left` : 'The class’s time is up');
    tell(remark, [halted ? 'Paused' : '', own].filter((text) => text !== '').join(', '));
    bar.style.setProperty('--left', String(rest / stage.limit));
  };
  return { node, update };
}

/**
 * How many have time of their own.
 * @param {Hand} hand
 */
function ownTimes({ roll }) {
  const some = [...roll.values()].filter((row) => row.time.kind !== 'standard').length;
  return some === 0 ? '' : `${count(some, 'student')} with own time`;
}

/**
 * How many answers are in, and which: for the instructor alone.
 * @param {App} app
 */
export function answersPanel(app) {
  const said = el('p', { class: 'in' });
  const bar = el('div', { class: 'timebar', 'aria-hidden': 'true' }, el('span'));
  const rows = el('div');
  const fresh = part(rows);
  const node = el('section', { class: 'answers' }, el('h2', {}, 'Answers'), said, bar, rows);
  const update = () => {
    const { tally, review } = app.held;
    const { phase } = review.stage;
    // After a return the count of a closed round is not told again.
    show(node, phase === 'open' || (phase === 'closed' && tally !== null && tally.here > 0));
    const { answered, of } = answers(app.held);
    const again = tally && tally.askedAgain > 0 ? `, ${tally.askedAgain} asked again` : '';
    tell(said, `${answered} of ${of}${again}`);
    bar.style.setProperty('--left', String(of > 0 ? answered / of : 0));
    fresh([tally, app.shown], () => spreadOf(tally?.spread ?? [], app.shown));
  };
  return { node, update };
}

/**
 * @param {readonly import('./wire.js').SpreadRow[]} rows
 * @param {boolean} shown
 */
function spreadOf(rows, shown) {
  if (!shown) {
    return el('p', { class: 'note' }, 'What was answered is hidden from the class.');
  }
  return rows.length > 0 ? spread(rows, 0) : el('p', { class: 'note' }, 'Nothing yet.');
}
