// What a study group has beside a class: how the others come in, the start, votes, and one's own time.

/**
 * @import { Motion, TimeAllowance } from './wire.js'
 * @import { App } from './student-app.js'
 */

import { el, show, tell } from './dom.js';
import { votes } from './words.js';

/** What one may vote on, in the order shown. @type {readonly (readonly [Motion, string])[]} */
const MOTIONS = [
  ['next', 'Next round now'],
  ['skip', 'Skip this round'],
  ['pause', 'Pause'],
  ['resume', 'Go on'],
  ['end', 'End the review'],
];

/** Times that one may have. @type {readonly (readonly [string, string, TimeAllowance])[]} */
const TIMES = [
  ['standard', 'class time', { kind: 'standard' }],
  ['150', '1.5 ×', { kind: 'stretched', percent: 150 }],
  ['200', '2 ×', { kind: 'stretched', percent: 200 }],
  ['untimed', 'no limit', { kind: 'untimed' }],
];

/**
 * While the members gather: the link for the others, and the start.
 * @param {App} app
 */
export function gathering(app) {
  const { word } = app.seated.review.info;
  const link = `${location.origin}/?word=${word}`;
  const copied = el('span', { role: 'status' });
  const copy = async () => {
    const done = await navigator.clipboard.writeText(link).then(() => true, () => false);
    tell(copied, done ? 'Copied.' : 'It cannot be copied here: mark it and copy it.');
  };
  const start = () => app.say({ type: 'start' });
  return el(
    'div',
    { class: 'gathering' },
    el('button', { type: 'button', class: 'main', onclick: start }, 'Start the first round'),
    el(
      'section',
      { class: 'share' },
      el('h2', {}, 'The others join with'),
      el('p', {}, 'this link:'),
      el('p', { class: 'link' }, link),
      // A browser gives pages the clipboard only over TLS.
      navigator.clipboard
        ? el('p', {}, el('button', { type: 'button', onclick: copy }, 'Copy the link'), ' ', copied)
        : null,
      el('p', {}, 'or with the join word'),
      el('p', { class: 'word' }, word),
      el('img', {
        src: `/qr.svg?link=${encodeURIComponent(link)}`,
        width: 220,
        height: 220,
        alt: 'The link as a QR code, for the camera of a phone',
      }),
    ),
  );
}

/**
 * The votes, below every view of a study group.
 * @param {App} app
 */
export function groupBar(app) {
  const buttons = MOTIONS.map(([motion, label]) => ({ motion, button: voteButton(app, motion, label) }));
  const stand = el('p', { role: 'status' });
  const time = ownTime(app);
  const node = el(
    'div',
    {},
    el('h2', { id: 'group-title' }, 'The group decides'),
    el('div', { class: 'votes' }, buttons.map(({ button }) => button)),
    stand,
    time.node,
  );
  const update = () => {
    const { review, votes: own } = app.seated;
    const possible = motions(app);
    for (const { motion, button } of buttons) {
      show(button, possible.has(motion));
      button.setAttribute('aria-pressed', String(own.has(motion)));
    }
    tell(stand, `For it: ${votes(review.votes, own, review.present)}`);
    time.update();
  };
  return { node, update };
}

/**
 * @param {App} app
 * @param {Motion} motion
 * @param {string} label
 */
function voteButton(app, motion, label) {
  const vote = () => {
    const { votes: own } = app.seated;
    const yes = !own.has(motion);
    if (app.say({ type: 'vote', motion, yes })) {
      own[yes ? 'add' : 'delete'](motion);
      app.draw();
    }
  };
  return el('button', { type: 'button', 'aria-pressed': 'false', onclick: vote }, label);
}

/**
 * What can be voted on as the review stands.
 * @param {App} app
 * @returns {Set<Motion>}
 */
function motions({ seated: { review } }) {
  const { phase } = review.stage;
  const between = phase === 'revealed' || phase === 'skipped';
  /** @type {Set<Motion>} */
  const possible = new Set(['end']);
  if (phase === 'open') {
    possible.add('skip');
  }
  if (between) {
    possible.add('next');
  }
  if (between || phase === 'open') {
    possible.add(review.halted ? 'resume' : 'pause');
  }
  return possible;
}

/** @param {App} app */
function ownTime(app) {
  const select = el(
    'select',
    { id: 'own-time', onchange: () => choose() },
    TIMES.map(([value, label]) => el('option', { value }, label)),
  );
  const choose = () => {
    const chosen = TIMES.find(([value]) => value === select.value);
    if (chosen && !app.say({ type: 'own_time', time: chosen[2] })) {
      update();
    }
  };
  const update = () => {
    const { time } = app.seated;
    const value = time.kind === 'stretched' ? String(time.percent) : time.kind;
    if (document.activeElement !== select && select.value !== value) {
      select.value = value;
    }
  };
  const node = el(
    'details',
    {},
    el('summary', {}, 'Your own time'),
    el('label', { for: 'own-time' }, 'From the next round on'),
    select,
  );
  return { node, update };
}
