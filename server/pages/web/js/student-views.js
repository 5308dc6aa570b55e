// Which view belongs to what the page knows.

/**
 * @import { App, View } from './student-app.js'
 */

import { roundOf } from './state.js';
import { gatherView, joinView } from './student-join.js';
import { endedView, revealView } from './student-result.js';
import { roundView } from './student-round.js';
import { closedView, connectingView, skippedView, stoppedView, waitingView } from './student-still.js';

/**
 * Views of the same key are the same view, brought up to date.
 * @param {App} app
 */
export function keyOf({ screen, sitting }) {
  if (screen.kind !== 'seated' || !sitting) {
    return `${screen.kind} ${JSON.stringify(screen)}`;
  }
  const { stage } = sitting.review;
  return `${stage.phase} ${roundOf(sitting.review)?.round ?? 0}`;
}

/**
 * The view of what the page knows now.
 * @param {App} app
 * @returns {View}
 */
export function viewOf(app) {
  const { screen } = app;
  switch (screen.kind) {
    case 'form':
      return joinView(app, screen.fault ?? null);
    case 'gather':
      return gatherView(app, screen.fault ?? null);
    case 'connecting':
      return connectingView(app, screen.word);
    case 'stopped':
      return stoppedView(screen.stop);
    case 'seated':
      return stageView(app);
  }
}

/**
 * @param {App} app
 * @returns {View}
 */
function stageView(app) {
  switch (app.seated.review.stage.phase) {
    case 'gathering':
      return waitingView(app);
    case 'open':
      return roundView(app);
    case 'closed':
      return closedView(app);
    case 'revealed':
      return revealView(app);
    case 'skipped':
      return skippedView(app);
    case 'ended':
      return endedView(app);
  }
}
