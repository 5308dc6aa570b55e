// A round that takes answers, or no more: what is asked, its clues as they come, the time, how many answered.

/**
 * @import { App, View } from './board-app.js'
 * @import { Open, Shut } from './state.js'
 * @import { ClueShown } from './wire.js'
 */

import { left } from './clock.js';
import { el, show, tell } from './dom.js';
import { clueItem } from './reveal.js';
import { ASKED, CLOSE_WHY, count, seconds } from './words.js';

/** When it is told that the time is nearly up, in milliseconds; not in rounds that are hardly longer. */
const WARN_MS = 10_000;
const WARN_FROM_MS = 15_000;

/**
 * The open round. It is made once and brought up to date, so that only what is new moves.
 * @param {App} app
 * @param {Open} stage
 * @returns {View}
 */
export function roundView(app, stage) {
  const clues = clueColumn(stage);
  const time = timeLine(app);
  const answered = el('p', { class: 'answered' });
  const node = el(
    'div',
    { class: `round ${stage.task}` },
    heading(stage),
    clues.node,
    el('div', { class: 'state' }, time.node, answered),
  );
  const update = () => {
    const { review } = app.seen;
    if (review.stage.phase === 'open') {
      const fresh = clues.add(review.stage.clues, review.stage.clueCount);
      time.update(review.stage);
      readClues(app, review.stage, fresh);
    }
    tell(answered, haveAnswered(app));
  };
  return { title: `Round ${stage.round} of ${stage.of}`, node, update };
}

/**
 * A round that is closed and not revealed yet.
 * @param {App} app
 * @param {Shut} stage
 * @returns {View}
 */
export function closedView(app, stage) {
  const clues = clueColumn(stage);
  clues.add(stage.clues, stage.clues.length);
  const { counts } = stage;
  const said = counts ? `${counts.answered} of ${count(counts.seated, 'student')} answered.` : null;
  const node = el(
    'div',
    { class: `round closed ${stage.task}` },
    heading(stage),
    clues.node,
    el(
      'div',
      { class: 'state' },
      el('p', { class: 'left' }, 'Closed'),
      el('p', {}, CLOSE_WHY[stage.why]),
      said ? el('p', { class: 'answered' }, said) : null,
      el('p', {}, 'The answer will be shown soon.'),
    ),
  );
  app.read([CLOSE_WHY[stage.why], said].filter(Boolean).join(' '));
  return { title: `Round ${stage.round} of ${stage.of}, closed`, node };
}

/**
 * What is asked, and of which two where two are offered.
 * @param {Open | Shut} stage
 */
function heading({ task, offered, ...stage }) {
  const example = 'example' in stage ? stage.example : null;
  const [first, second] = offered;
  return el(
    'div',
    { class: 'asked' },
    el('h1', {}, ASKED[task]),
    first && second
      ? el('p', { class: 'offered' }, el('span', {}, first), el('span', { class: 'note' }, ' or '), el('span', {}, second))
      : null,
    example ? el('p', { class: 'note' }, 'In this form, but not this one: ', el('q', {}, example)) : null,
  );
}

/**
 * Clues, added as they come. A round that has but one needs no numbers.
 * @param {Open | Shut} stage
 */
function clueColumn({ task }) {
  const several = task === 'name' || task === 'contrast';
  const list = el('ol', { class: several ? null : 'single' });
  const toCome = el('p', { class: 'note' });
  /**
   * @param {readonly ClueShown[]} clues
   * @param {number} of
   */
  const add = (clues, of) => {
    const fresh = clues.slice(list.childElementCount);
    for (const clue of fresh) {
      list.lastElementChild?.classList.remove('newest');
      list.append(clueItem(clue, several));
    }
    tell(toCome, `${count(of - clues.length, 'more clue')} to come`);
    show(toCome, of > clues.length);
    return fresh;
  };
  return { node: el('div', { class: 'clues' }, list, toCome), add };
}

/**
 * @param {App} app
 * @param {Open} stage
 * @param {readonly ClueShown[]} fresh
 */
function readClues(app, { clues, round, of, task }, fresh) {
  if (fresh.length > 0) {
    const said = fresh.map((clue) => `${clue.kind}: ${clue.picture?.text ?? clue.text}`).join(' ');
    const first = clues.length === fresh.length;
    app.read(first ? `Round ${round} of ${of}. ${ASKED[task]} ${said}` : `Next clue, ${said}`);
  }
}

/**
 * The time that the class has left, in words and as a bar; nothing without a limit.
 * @param {App} app
 */
function timeLine(app) {
  const said = el('p', { class: 'left', role: 'timer' });
  const still = el('p', { class: 'paused', hidden: true }, 'Paused');
  const bar = el('div', { class: 'timebar', 'aria-hidden': 'true' }, el('span'));
  let warned = false;
  /** @param {Open} stage */
  const update = ({ watch, limit }) => {
    const rest = limit > 0 ? left(watch.elapsed(), limit) : null;
    const { halted } = app.seen.review;
    show(bar, rest !== null);
    if (still.hidden === halted) {
      show(still, halted);
      app.read(halted ? 'Paused.' : 'It goes on.');
    }
    if (rest === null) {
      tell(said, '');
      return;
    }
    tell(said, `${seconds(rest)} left`);
    bar.style.setProperty('--left', String(rest / limit));
    if (!warned && !halted && limit >= WARN_FROM_MS && rest <= WARN_MS && rest > 0) {
      warned = true;
      app.readAtOnce(`${Math.round(rest / 1000)} seconds left`);
    }
  };
  return { node: el('div', { class: 'time' }, said, bar, still), update };
}

/**
 * How many have answered, never whose answers.
 * @param {App} app
 */
function haveAnswered({ seen: { answered, could, here } }) {
  const of = Math.max(answered, could ?? here.names.length + here.others);
  return `${answered} of ${of} ${of === 1 ? 'has' : 'have'} answered`;
}
