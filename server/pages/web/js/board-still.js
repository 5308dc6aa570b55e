// The views that wait or ask for something, and what a connection that is closed for good means for the board.

/**
 * @import { ErrorCode } from './wire.js'
 * @import { App, View } from './board-app.js'
 * @import { Standing } from './live.js'
 */

import { el } from './dom.js';
import { joinWord } from './student-join.js';
import { ANYWHERE, sentence } from './words.js';

export { joinWord };

/**
 * Asks for the join word.
 * @param {App} app
 * @param {string} typed
 * @param {string} fault
 * @returns {View}
 */
export function formView(app, typed, fault) {
  const input = el('input', {
    ...{ type: 'text', id: 'word', name: 'word', value: typed, maxlength: 64 },
    ...{ autocomplete: 'off', autocapitalize: 'none', spellcheck: 'false' },
    ...{ 'aria-describedby': 'word-hint word-fault', 'aria-invalid': fault ? 'true' : null },
  });
  const submit = (/** @type {Event} */ event) => {
    event.preventDefault();
    const word = joinWord(input.value);
    if (word) {
      app.watch(word);
    } else {
      app.ask(input.value, 'bad');
    }
  };
  const form = el(
    'form',
    { novalidate: true, onsubmit: submit },
    el('label', { for: 'word' }, 'Join word'),
    el('p', { class: 'note', id: 'word-hint' }, 'Names of bones with hyphens between, such as radius-talus. The desk shows it.'),
    input,
    el('p', { class: 'fault', id: 'word-fault' }, fault),
    el('button', { class: 'main', type: 'submit' }, 'Show the review'),
  );
  return { title: 'Board', node: page('A board for the room', el('p', {}, WHAT), form) };
}

/**
 * Waiting for the server's welcome.
 * @param {App} app
 * @param {string} word
 * @returns {View}
 */
export function connectingView(app, word) {
  const back = el('button', { type: 'button', onclick: () => app.ask(word, 'none') }, 'Back');
  return { title: 'Connecting', node: page('Connecting', el('p', {}, `Calling the server for the review ${word} …`), back) };
}

/**
 * A round does not count.
 * @param {App} app
 * @param {{ round: number, of: number }} stage
 * @returns {View}
 */
export function skippedView(app, { round, of }) {
  const title = `Round ${round} of ${of} was skipped`;
  app.read(title);
  return { title, node: page(title, el('p', {}, 'It does not count for anyone. Wait for the next round.')) };
}

/**
 * Nothing more comes.
 * @param {App} app
 * @param {string} title
 * @param {readonly string[]} said
 * @returns {View}
 */
export function stoppedView(app, title, said) {
  const again = el('button', { type: 'button', class: 'main', onclick: () => app.watch(app.word) }, 'Try again');
  const other = el('button', { type: 'button', onclick: () => app.ask(app.word, 'none') }, 'Another join word');
  const lines = said.map((text) => el('p', {}, sentence(text)));
  return { title, node: page(title, ...lines, el('p', { class: 'acts' }, again, ' ', other)) };
}

/**
 * Shows why nothing more comes, or the form where something can be put right there.
 * @param {App} app
 * @param {Extract<Standing, { kind: 'closed' }>} end
 */
export function closed(app, end) {
  if (end.why === 'refused' && end.code === 'no_such_review') {
    app.ask(app.word, sentence(end.message));
  } else if (end.why === 'refused') {
    app.stop('This did not work', [end.message, TODO[end.code] ?? TRY_AGAIN]);
  } else if (app.room?.review.stage.phase === 'ended') {
    // What was learnt stays on the screen.
    return;
  } else if (end.why === 'policy' && end.message) {
    app.stop('This did not work', [`The server closed the connection: ${end.message}`, TRY_AGAIN]);
  } else {
    app.stop('This did not work', ['The server has closed the review', TRY_AGAIN]);
  }
}

/**
 * @param {string} title
 * @param {...(Node | null)} children
 */
function page(title, ...children) {
  return el('div', { class: 'still' }, el('h1', { tabindex: -1 }, title), ...children);
}

const WHAT =
  'It shows how to join, the clues and the answers of a review, and how many have answered. It shows no name ' +
  'of anyone who did not ask to be listed.';
const TRY_AGAIN = 'Try again; if it stays so, look at the server.';

/** What to do about a refusal. @type {Partial<Record<ErrorCode, string>>} */
const TODO = {
  room_full: 'A review has twenty boards at most. Close one that is not needed.',
  review_over: 'Take the join word of the next review.',
  ...ANYWHERE,
};
