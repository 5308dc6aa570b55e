// What stands round every view of the desk: heading and notices.

/** @import { App } from './desk-app.js' */

import { part } from './desk-part.js';
import { byId, el } from './dom.js';
import { roundOf } from './state.js';
import { lost } from './words.js';

const CANNOT_SAVE =
  'The server cannot save answers just now. The open round will not count. Free space on its disk, or wait.';

/** @type {{ top: ReturnType<typeof part>, notices: ReturnType<typeof part> } | null} */
let parts = null;

/**
 * Brings them up to date.
 * @param {App} app
 */
export function frame(app) {
  parts ??= { top: part(byId('top')), notices: part(byId('notices')) };
  const review = app.screen === 'hand' ? app.hand?.review : null;
  const round = review ? roundOf(review) : null;
  const where = round ? `Round ${round.round} of ${round.of}` : '';
  parts.top([review?.info.word, review?.info.list, where], () => [
    el('p', {}, el('span', { class: 'brand' }, 'Myonym'), el('span', { class: 'note' }, 'instructor’s desk')),
    review
      ? el('p', {}, where ? el('span', {}, where) : null, el('span', { class: 'note' }, review.info.list), el('strong', {}, review.info.word))
      : null,
  ]);
  // With a review in hand they stand below the next step, so that its button stays in its place.
  const said = app.screen === 'hand' ? [] : notices(app);
  parts.notices(said, () => noticed(said));
}

/**
 * Most pressing first: the connection, the server's trouble, the rest.
 * @param {App} app
 */
export function notices(app) {
  const now = performance.now();
  if (app.noticed && app.noticed.until < now) {
    app.noticed = null;
  }
  return [
    app.screen === 'front' || app.screen === 'open' ? null : lost(app.standing, now),
    app.hand?.review.cannotSave ? CANNOT_SAVE : null,
    app.noticed?.text ?? null,
  ].filter((text) => text !== null);
}

/** @param {readonly string[]} said */
export function noticed(said) {
  return said.map((text) => el('p', { class: 'notice' }, text));
}
