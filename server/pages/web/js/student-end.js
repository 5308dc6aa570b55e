// What a connection that is closed for good means for the page.

/**
 * @import { ErrorCode } from './wire.js'
 * @import { Standing } from './live.js'
 * @import { App, Stop } from './student-app.js'
 */

import { forgetSeat } from './seat.js';
import { ANYWHERE, sentence } from './words.js';

/**
 * Shows why nothing more comes, or the form where something can be put right there.
 * @param {App} app
 * @param {Extract<Standing, { kind: 'closed' }>} end
 * @param {boolean} [removed] Whether the instructor has taken the student out.
 */
export function closed(app, end, removed = false) {
  const { sitting, screen } = app;
  const word = sitting?.review.info.word ?? app.entry.word;
  const again = { label: 'Come back here', does: () => app.comeBack(word) };
  if (removed) {
    forgetSeat(word);
    stop(app, 'You were taken out of the review', [REMOVED, SPEAK]);
  } else if (end.why === 'refused') {
    refused(app, end.code, end.message);
  } else if (screen.kind === 'stopped' || sitting?.review.stage.phase === 'ended') {
    return;
  } else if (end.why === 'seat_taken') {
    stop(app, 'Your seat was taken from another page', [SEAT_GOES_ON, SEAT_BACK], again);
  } else if (end.why === 'policy') {
    const reason = end.message && `: ${end.message}`;
    stop(app, 'This did not work', [`The server closed the connection${reason}`, TRY_AGAIN], again);
  } else if (app.left) {
    stop(app, 'You have left the review', ['Your seat and your points are kept'], again);
  } else {
    stop(app, 'This did not work', ['The server has closed the review', TRY_AGAIN]);
  }
}

/**
 * @param {App} app
 * @param {ErrorCode} code
 * @param {string} message
 */
function refused(app, code, message) {
  const gathers = app.screen.kind === 'connecting' && app.screen.word === null;
  const returned = app.returns || app.sitting !== null;
  const { word } = app.entry;
  const text = sentence(message);
  app.hangUp();
  if (code === 'not_allowed' && returned) {
    forgetSeat(word);
    app.go({ kind: 'form' });
    app.notice('The seat that was kept here is no longer known. Join again.');
  } else if (code === 'no_such_review' && !gathers) {
    app.go({ kind: 'form', fault: { field: 'word', text } });
  } else if (code === 'bad_name' || (code === 'bad_field' && gathers)) {
    const field = code === 'bad_name' ? 'name' : 'list';
    app.go({ kind: gathers ? 'gather' : 'form', fault: { field, text } });
  } else {
    const act = { label: 'Back', does: () => app.go({ kind: gathers ? 'gather' : 'form' }) };
    stop(app, 'This did not work', [message, TODO[code] ?? TRY_AGAIN], act);
  }
}

/**
 * @param {App} app
 * @param {string} title
 * @param {string[]} said
 * @param {Stop['act']} [act]
 */
function stop(app, title, said, act) {
  const join = { label: 'Join a review', does: () => app.backToForm() };
  app.stop({ title, said: said.map(sentence), act: act ?? join });
}

const REMOVED = 'The instructor has taken you out. Answers already recorded stay.';
const SPEAK = 'If this is a mistake, speak to the instructor.';
const TRY_AGAIN = 'Try again; if it stays so, tell the instructor.';
const SEAT_GOES_ON = 'The review goes on there, with the same name and points.';
const SEAT_BACK = 'Come back here if you want to go on with this page.';

/** What to do about a refusal. @type {Partial<Record<ErrorCode, string>>} */
const TODO = {
  room_full: 'Tell the instructor, then try again.',
  review_over: 'Ask the instructor for the join word of the next review.',
  ...ANYWHERE,
};
