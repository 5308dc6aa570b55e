// The desk with a review in hand: the next step in its place, the round, the class, what it confuses.

/** @import { App, View } from './desk-app.js' */

import { ask } from './desk-ask.js';
import { noticed, notices } from './desk-frame.js';
import { joinPanel } from './desk-join.js';
import { next, planned, possible } from './desk-model.js';
import { part } from './desk-part.js';
import { reportForm } from './desk-report.js';
import { rollPanel } from './desk-roll.js';
import { answersPanel, roundPanel } from './desk-round.js';
import { mapPanel } from './desk-map.js';
import { el, show, tell } from './dom.js';
import { standings } from './reveal.js';
import { sentence } from './words.js';

/**
 * @param {App} app
 * @returns {View}
 */
export function handView(app) {
  const join = joinPanel(app);
  const left = [roundPanel(app), join.large];
  const beside = el('div');
  const below = el('div');
  const right = [answersPanel(app), comingPanel(app), rollPanel(app), standingsPanel(app), join.small];
  const step = stepBar(app);
  const map = mapPanel(app, beside, below);
  const node = el(
    'div',
    { class: 'hand' },
    step.node,
    el('div', { class: 'columns' },
      el('div', { class: 'left' }, left.map((one) => one.node)),
      el('div', { class: 'right' }, right.map((one) => one.node), beside)),
    below,
    reportForm(app, 'hand'),
    leaving(app),
  );
  const all = [step, ...left, ...right, map];
  const update = () => {
    const { review } = app.held;
    const { stage } = review;
    document.title = `${'round' in stage ? `Round ${stage.round} of ${stage.of}` : review.info.word} – the desk – Myonym`;
    all.forEach((one) => one.update());
  };
  return { node, title: 'The desk', update };
}

/**
 * The next step: one button, always in the same place, that says what it will do. What else can be done stands
 * beside it.
 * @param {App} app
 */
function stepBar(app) {
  const button = el('button', { class: 'main', type: 'button', 'aria-describedby': 'step-say', onclick: () => app.step() });
  const say = el('p', { id: 'step-say' });
  const pause = el('button', { type: 'button' });
  pause.addEventListener('click', () => {
    if (possible(app.held).pause) {
      app.say({ type: app.held.review.halted ? 'resume' : 'pause' });
    }
  });
  const skip = el('button', { type: 'button' }, 'Skip the round');
  skip.addEventListener('click', async () => {
    const { stage } = app.held.review;
    const round = 'round' in stage ? stage.round : 0;
    const sure = possible(app.held).skip && (await ask(`Skip round ${round}?`, 'Skip it', 'It will not count, and its answer is not shown.'));
    if (sure && stillRound(app, round)) {
      app.say({ type: 'skip' });
    }
  });
  const end = el('button', { type: 'button' }, 'End the review');
  end.addEventListener('click', async () => {
    if (app.up && await ask('End the review now for everyone?', 'End it', 'An open round will not count. What was answered before stays.')) {
      app.say({ type: 'end' });
    }
  });
  const privacy = el('button', { type: 'button', class: 'privacy', onclick: () => app.turn() });
  const told = el('div', { class: 'told-now' });
  const freshly = part(told);
  const update = () => {
    const step = next(app.held);
    const can = possible(app.held);
    const over = app.held.review.stage.phase === 'ended';
    const ready = (app.up && step.step !== null) || over;
    tell(button, step.label);
    tell(say, app.up || over ? step.say : 'Wait until the connection is back.');
    able(button, ready);
    tell(pause, can.halted ? 'Let the time run' : 'Pause');
    able(pause, can.pause && app.up);
    able(skip, can.skip && app.up);
    able(end, can.end && app.up);
    [pause, skip, end].forEach((one) => show(one, !over));
    const said = notices(app);
    freshly(said, () => noticed(said));
    tell(privacy, app.shown ? 'Hide names and answers' : 'Show names and answers');
  };
  const node = el(
    'section',
    { class: 'step', 'aria-label': 'Next step' },
    el('div', { class: 'do' }, button, say),
    el('div', { class: 'else' }, pause, skip, end, privacy),
    told,
  );
  return { node, update };
}

/**
 * Whether this round can still be skipped, after a question that took its time.
 * @param {App} app
 * @param {number} round
 */
function stillRound(app, round) {
  const { hand } = app;
  return hand !== null && possible(hand).skip && 'round' in hand.review.stage && hand.review.stage.round === round;
}

/**
 * @param {HTMLButtonElement} button
 * @param {boolean} can
 */
function able(button, can) {
  // It keeps the focus, so it is not taken out of the order of Tab.
  button.setAttribute('aria-disabled', String(!can));
}

/**
 * Why this round was planned, or which comes next and why.
 * @param {App} app
 */
function comingPanel(app) {
  const node = el('section', { class: 'coming' });
  const fresh = part(node);
  const update = () => {
    const coming = planned(app.held);
    const { phase } = app.held.review.stage;
    const now = phase === 'open' || phase === 'closed';
    show(node, coming !== null);
    fresh([coming, now, app.shown], () => {
      const why = coming ? sentence(coming.why) : '';
      return [
        el('h2', {}, now ? 'Why this round' : 'Next round'),
        app.shown ? null : el('p', { class: 'note' }, 'Hidden from the class.'),
        coming && app.shown ? el('p', { class: 'asks' }, asks(coming)) : null,
        coming && app.shown && why !== '' ? el('p', {}, why) : null,
      ];
    });
  };
  return { node, update };
}

/** @param {import('./wire.js').Coming} coming */
function asks({ task, muscle, beside }) {
  const how = { name: '', picture: ', picture', movement: ', movement', contrast: beside ? ` beside ${beside}` : '' };
  return `${muscle}${how[task ?? 'name']}`;
}

/** @param {App} app */
function standingsPanel(app) {
  const node = el('section', {});
  const fresh = part(node);
  const update = () => {
    const { stage, standings: rows, standingsOf } = app.held.review;
    show(node, rows.length > 0 && (stage.phase === 'revealed' || stage.phase === 'ended'));
    fresh([rows, standingsOf], () => [el('h2', {}, 'Standings'), standings(rows, standingsOf)]);
  };
  return { node, update };
}

/** @param {App} app */
function leaving(app) {
  return el(
    'section',
    { class: 'leave' },
    el('h2', {}, 'Leave the desk'),
    el('p', {}, 'The review goes on in the server, and this tab forgets the key.'),
    el('button', { type: 'button', onclick: () => app.leave() }, 'Leave'),
  );
}
