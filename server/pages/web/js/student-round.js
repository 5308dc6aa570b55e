// A round that takes answers: what is asked, its clues as they come, the time, and the answer.

/**
 * @import { App, View } from './student-app.js'
 * @import { Open } from './state.js'
 */

import { left } from './clock.js';
import { el, show, tell } from './dom.js';
import { clueItem } from './reveal.js';
import { attemptOf, ownLimit } from './sitting.js';
import { answerPanel } from './student-answer.js';
import { ASKED, count, seconds } from './words.js';

/** When it is told that the time is nearly up, in milliseconds; not in rounds that are hardly longer. */
const WARN_MS = 10_000;
const WARN_FROM_MS = 15_000;

/**
 * The open round. It is made once for each round and brought up to date, so that what is being typed stays.
 * @param {App} app
 * @returns {View}
 */
export function roundView(app) {
  const { round, of, task } = open(app);
  const clues = clueColumn(app);
  const time = timeLine(app);
  const answer = answerPanel(app);
  const node = el(
    'div',
    { class: `round ${task}` },
    el('h1', { tabindex: -1 }, ASKED[task]),
    clues.node,
    el('div', { class: 'panel' }, time.node, answer.node),
  );
  app.read(`Round ${round} of ${of}. ${ASKED[task]}`);
  return {
    title: `Round ${round} of ${of}`,
    node,
    update: () => {
      clues.update();
      time.update();
      answer.update();
    },
  };
}

/**
 * The open round of the sitting.
 * @param {App} app
 * @returns {Open}
 */
export function open(app) {
  const { stage } = app.seated.review;
  if (stage.phase !== 'open') {
    throw new Error('This view is of an open round.');
  }
  return stage;
}

/** @param {App} app */
function clueColumn(app) {
  const list = el('ol');
  const toCome = el('p', { class: 'note' });
  let shown = 0;
  const update = () => {
    const { clues, clueCount, round, of, task } = open(app);
    const fresh = clues.slice(shown);
    for (const clue of fresh) {
      list.lastElementChild?.classList.remove('newest');
      list.append(clueItem(clue, clueCount > 1));
    }
    if (fresh.length > 0) {
      const said = fresh.map((clue) => `${clue.kind}: ${clue.text}`).join(' ');
      app.read(shown === 0 ? `Round ${round} of ${of}. ${ASKED[task]} ${said}` : `Next clue, ${said}`);
      shown = clues.length;
    }
    const more = clueCount - clues.length;
    tell(toCome, `${count(more, 'more clue')} to come`);
    show(toCome, more > 0);
    // A single clue needs no number.
    list.classList.toggle('single', clueCount === 1);
  };
  return { node: el('div', { class: 'clues' }, list, toCome), update };
}

/**
 * The student's time, standing still from the answer on. A time of one's own looks like any other: neighbours
 * can see the screen.
 * @param {App} app
 */
function timeLine(app) {
  const said = el('span', { role: 'timer' });
  const remark = el('span', { class: 'remark' });
  const bar = el('div', { class: 'timebar', 'aria-hidden': 'true' }, el('span'));
  let warned = false;
  const update = () => {
    const stage = open(app);
    const { own, review } = app.seated;
    const limit = ownLimit(app.seated, stage.limit);
    const rest = left(attemptOf(own)?.elapsed ?? stage.watch.elapsed(), limit);
    show(bar, limit !== null);
    tell(remark, review.halted ? 'Paused' : '');
    if (limit === null || rest === null) {
      tell(said, 'No time limit');
      return;
    }
    tell(said, `${seconds(rest)} left`);
    bar.style.setProperty('--left', String(rest / limit));
    if (!warned && own.kind === 'nothing' && !review.halted && limit >= WARN_FROM_MS && rest <= WARN_MS && rest > 0) {
      warned = true;
      app.readAtOnce(`${Math.round(rest / 1000)} seconds left`);
    }
  };
  return { node: el('div', { class: 'time' }, el('p', {}, said, remark), bar), update };
}
