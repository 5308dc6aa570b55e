// The views in which a student waits, or nothing more comes.

/**
 * @import { App, Stop, View } from './student-app.js'
 */

import { el, fill, named, tell } from './dom.js';
import { clueList, section } from './reveal.js';
import { isGroup } from './sitting.js';
import { gathering } from './student-group.js';
import { CLOSE_WHY, count, howItGoes, listed, terms } from './words.js';

/**
 * Waiting for the server's welcome.
 * @param {App} app
 * @param {string | null} word
 * @returns {View}
 */
export function connectingView(app, word) {
  const said = word
    ? `Calling the server for the review ${word} …`
    : 'Calling the server to open a study group …';
  const back = el('button', { type: 'button', onclick: () => app.backToForm() }, 'Back');
  return { title: 'Connecting', node: page('Connecting', el('p', {}, said), back) };
}

/**
 * Seated, and nothing has begun.
 * @param {App} app
 * @returns {View}
 */
export function waitingView(app) {
  const group = isGroup(app.seated) ? gathering(app) : null;
  const title = group ? 'The study group gathers' : 'The review begins soon';
  const here = el('p', { class: 'here' });
  const rules = el('div');
  let told = '';
  const update = () => {
    const { review, time } = app.seated;
    tell(here, `${count(review.present, 'student is', 'students are')} here.`);
    const said = `${review.info.list}${JSON.stringify(time)}`;
    if (said !== told) {
      told = said;
      fill(rules, rulesOf(app));
    }
  };
  const node = page(
    title,
    here,
    group ?? seat(app),
    section('How it goes', rules),
  );
  return { title: group ? 'Study group' : 'Waiting for the review', node, update };
}

/**
 * What the review asks, and how it is marked.
 * @param {App} app
 */
function rulesOf({ seated }) {
  const { info } = seated.review;
  const scope = `Muscle list: ${info.list}. ${count(info.rounds, 'round')}. ${howItGoes(info)}`;
  return [scope, ...terms(info, seated.time)].map((sentence) => el('p', {}, sentence));
}

/**
 * Whose seat it is, and what to do if it is not the reader's.
 * @param {App} app
 */
function seat(app) {
  const { name, cameBack } = app.seated;
  if (!cameBack) {
    return el('p', {}, 'You have a seat, ', named(name), '.');
  }
  return el(
    'div',
    {},
    el('p', {}, 'You are back in the seat of ', named(name), '.'),
    el('button', { type: 'button', onclick: () => app.anotherSeat() }, 'That is not me: take another seat'),
  );
}

/**
 * A round takes no more answers.
 * @param {App} app
 * @returns {View}
 */
export function closedView(app) {
  const { stage } = app.seated.review;
  if (stage.phase !== 'closed') {
    throw new Error('This view is of a closed round.');
  }
  app.read(CLOSE_WHY[stage.why]);
  const own = el('p', { class: 'own' });
  const node = page(
    'The round is closed',
    el('p', {}, CLOSE_WHY[stage.why]),
    own,
    stage.counts
      ? el('p', {}, `${stage.counts.answered} of ${count(stage.counts.seated, 'student')} answered.`)
      : null,
    stage.offered.length > 0 ? el('p', {}, `Offered: ${listed(stage.offered, 'or')}.`) : null,
    el('p', { class: 'note' }, 'The answer will be shown soon.'),
    clueList(stage.clues),
  );
  const title = `Round ${stage.round} of ${stage.of}, closed`;
  return { title, node, update: () => tell(own, ownAnswer(app)) };
}

/** @param {App} app */
function ownAnswer({ seated: { own } }) {
  switch (own.kind) {
    case 'nothing':
      return 'You gave no answer.';
    case 'sent':
      return `Your answer “${own.attempt.text}” was not confirmed before the end.`;
    case 'taken':
      return `Your answer “${own.attempt.text}” is ${own.recorded ? 'recorded' : 'being recorded'}.`;
    case 'barred':
      return own.why;
  }
}

/**
 * A round does not count.
 * @param {App} app
 * @returns {View}
 */
export function skippedView(app) {
  const { stage } = app.seated.review;
  const which = stage.phase === 'skipped' ? `Round ${stage.round} of ${stage.of}` : 'The round';
  const title = `${which} was skipped`;
  app.read(title);
  const said = ['It does not count for anyone.', 'Wait for the next round.'];
  return { title, node: page(title, ...said.map((sentence) => el('p', {}, sentence))) };
}

/**
 * Nothing more comes.
 * @param {Stop} stop
 * @returns {View}
 */
export function stoppedView({ title, said, act }) {
  const button = act && el('button', { type: 'button', class: 'main', onclick: act.does }, act.label);
  return { title, node: page(title, ...said.map((sentence) => el('p', {}, sentence)), button ?? null) };
}

/**
 * @param {string} title
 * @param {...(Node | null)} children
 */
function page(title, ...children) {
  return el('div', { class: 'still' }, el('h1', { tabindex: -1 }, title), ...children);
}
