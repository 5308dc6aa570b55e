// What stands round every view of the board: where the review is, notices, how to join, and two buttons.

/**
 * @import { App } from './board-app.js'
 */

import { code, typed, unbroken } from './board-join.js';
import { byId, el, fill, show, tell } from './dom.js';
import { roundOf } from './state.js';
import { CANNOT_SAVE, lost, votes } from './words.js';

/**
 * Makes what stands round the views.
 * @param {App} app
 * @returns {() => void} Brings it up to date.
 */
export function frame(app) {
  const buttons = controls(app);
  fill(byId('controls'), buttons.nodes);
  return () => {
    heading(app);
    notices(app);
    below(app);
    buttons.update();
  };
}

/** @param {App} app */
function heading({ room }) {
  const round = room && roundOf(room.review);
  const where = round ? `Round ${round.round} of ${round.of}` : '';
  const list = room?.review.info.list ?? '';
  change('top', `${where}\n${list}`, () => [
    el('p', { class: 'brand' }, where || 'Myonym'),
    el('p', { class: 'note' }, list),
  ]);
}

/**
 * Most pressing first: the connection, the server's trouble, a pause between rounds.
 * @param {App} app
 */
function notices({ room, standing }) {
  const gone = lost(standing, performance.now());
  const review = room?.review;
  const between = review?.halted && review.stage.phase !== 'open';
  const said = [
    gone,
    review?.cannotSave ? CANNOT_SAVE : null,
    between ? 'Paused: the next round waits.' : null,
  ].filter((text) => text !== null);
  change('notices', said.join('\n'), () => said.map((text) => el('p', { class: 'notice' }, text)));
}

/**
 * For those who come late: how to join, small; and a study group's votes.
 * @param {App} app
 */
function below({ room }) {
  const phase = room?.review.stage.phase;
  const on = phase !== undefined && phase !== 'gathering' && phase !== 'ended';
  show(byId('below'), on);
  if (!room || !on) {
    return;
  }
  const { review, here } = room;
  const present = here.names.length + here.others;
  const isGroup = review.info.pace.kind === 'group';
  const vote = isGroup && review.votes.length > 0 ? votes(review.votes, new Set(), present) : '';
  // A reveal needs the room.
  const scan = phase !== 'revealed';
  change('below', `${typed(room)} ${review.info.word} ${scan} ${vote}`, () => [
    scan ? code(room) : null,
    el(
      'div',
      {},
      el(
        'p',
        {},
        'Join at ',
        el('strong', {}, typed(room)),
        ' with ',
        el('strong', {}, unbroken(review.info.word)),
      ),
      vote ? el('p', { class: 'votes' }, 'Votes: ', vote) : null,
    ),
  ]);
}

/**
 * Fills an element anew only where what it says has changed.
 * @param {string} id
 * @param {string} says
 * @param {() => (HTMLElement | null)[]} make
 */
function change(id, says, make) {
  const element = byId(id);
  if (element.dataset['says'] !== says) {
    element.dataset['says'] = says;
    fill(element, make());
  }
}

/** @param {App} app */
function controls(app) {
  const standings = el('button', { type: 'button', onclick: () => app.turnStandings() });
  const screen = el('button', { type: 'button', onclick: turnScreen });
  const update = () => {
    const { room } = app;
    const phase = room?.review.stage.phase;
    const placed = (phase === 'revealed' || phase === 'ended') && room?.review.standings.length !== 0;
    show(standings, placed);
    tell(standings, app.listsStandings ? 'Hide standings' : 'Show standings');
    show(screen, document.fullscreenEnabled);
    tell(screen, document.fullscreenElement ? 'Leave full screen' : 'Full screen');
  };
  document.addEventListener('fullscreenchange', update);
  return { nodes: [standings, screen], update };
}

function turnScreen() {
  const done = document.fullscreenElement
    ? document.exitFullscreen()
    : document.documentElement.requestFullscreen();
  // A browser that says no leaves the page as it is.
  done.catch(() => {});
}
