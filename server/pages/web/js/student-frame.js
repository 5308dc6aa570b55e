// What stands round every view of the student's page: heading, notices, the group's votes, leaving.

/**
 * @import { App } from './student-app.js'
 * @import { Sitting } from './sitting.js'
 */

import { byId, el, fill, named, show } from './dom.js';
import { isGroup } from './sitting.js';
import { roundOf } from './state.js';
import { groupBar } from './student-group.js';
import { CANNOT_SAVE, lost, somePoints } from './words.js';

/**
 * Makes what stands round the views.
 * @param {App} app
 * @returns {() => void} Brings it up to date.
 */
export function frame(app) {
  const group = groupBar(app);
  fill(byId('group'), group.node);
  fill(byId('leave'), leaving(app));
  return () => {
    const sitting = app.screen.kind === 'seated' ? app.sitting : null;
    const over = sitting?.review.stage.phase === 'ended';
    const votes = sitting !== null && isGroup(sitting) && !over;
    heading(sitting);
    notices(app, sitting);
    show(byId('group'), votes);
    show(byId('leave'), sitting !== null && !over);
    if (votes) {
      group.update();
    }
  };
}

/** @param {Sitting | null} sitting */
function heading(sitting) {
  if (!sitting) {
    change('top', '', () => [el('p', { class: 'brand' }, 'Myonym')]);
    return;
  }
  const { info } = sitting.review;
  const round = roundOf(sitting.review);
  const where = round ? `Round ${round.round} of ${round.of}` : info.word;
  const points = round ? somePoints(sitting.total) : '';
  change('top', `${sitting.name}\n${where}\n${points}`, () => [
    el('p', { class: 'who' }, named(sitting.name), el('span', { class: 'note' }, info.list)),
    el('p', { class: 'where' }, el('span', {}, where), el('span', { class: 'note' }, points)),
  ]);
}

/**
 * Most pressing first: the connection, the server's trouble, the rest.
 * @param {App} app
 * @param {Sitting | null} sitting
 */
function notices(app, sitting) {
  const now = performance.now();
  const gone = lost(app.standing, now);
  if (app.noticed && app.noticed.until < now) {
    app.noticed = null;
  }
  const said = [
    gone && sitting ? `${gone} Your seat is kept.` : gone,
    sitting?.review.cannotSave ? CANNOT_SAVE : null,
    app.noticed?.text ?? null,
  ].filter((text) => text !== null);
  change('notices', said.join('\n'), () => said.map((text) => el('p', { class: 'notice' }, text)));
}

/**
 * Fills an element anew only where what it says has changed.
 * @param {string} id
 * @param {string} says
 * @param {() => HTMLElement[]} make
 */
function change(id, says, make) {
  const element = byId(id);
  if (element.dataset['says'] !== says || element.childElementCount === 0) {
    element.dataset['says'] = says;
    fill(element, make());
  }
}

/** @param {App} app */
function leaving(app) {
  const details = el('details', {}, el('summary', {}, 'Leave the review'));
  const leave = () => {
    details.open = false;
    app.leave();
  };
  details.append(
    el('p', {}, 'Your seat and your points are kept, and you can come back.'),
    el('button', { type: 'button', onclick: leave }, 'Leave now'),
  );
  return details;
}
