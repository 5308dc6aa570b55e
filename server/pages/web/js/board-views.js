// Which view belongs to what the board knows.

/**
 * @import { App, View } from './board-app.js'
 */

import { endedView } from './board-end.js';
import { gatherView } from './board-gather.js';
import { revealView } from './board-reveal.js';
import { closedView, roundView } from './board-round.js';
import { connectingView, formView, skippedView, stoppedView } from './board-still.js';
import { roundOf } from './state.js';

/**
 * Views of the same key are the same view, brought up to date.
 * @param {App} app
 */
export function keyOf({ screen, room }) {
  if (screen.kind !== 'room' || !room) {
    return JSON.stringify(screen);
  }
  const { review } = room;
  return `${review.info.review} ${review.stage.phase} ${roundOf(review)?.round ?? 0}`;
}

/**
 * The view of what the board knows now.
 * @param {App} app
 * @returns {View}
 */
export function viewOf(app) {
  const { screen } = app;
  switch (screen.kind) {
    case 'form':
      return formView(app, screen.typed, screen.fault);
    case 'connecting':
      return connectingView(app, screen.word);
    case 'stopped':
      return stoppedView(app, screen.title, screen.said);
    case 'room':
      return stageView(app);
  }
}

/**
 * @param {App} app
 * @returns {View}
 */
function stageView(app) {
  const { stage } = app.seen.review;
  switch (stage.phase) {
    case 'gathering':
      return gatherView(app);
    case 'open':
      return roundView(app, stage);
    case 'closed':
      return closedView(app, stage);
    case 'revealed':
      return revealView(app, stage);
    case 'skipped':
      return skippedView(app, stage);
    case 'ended':
      return endedView(app, stage);
  }
}
