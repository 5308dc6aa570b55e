// The first view: the key, and what to do with it. And the views in which there is nothing to do.

/** @import { App, View } from './desk-app.js' */

import { field } from './desk-fields.js';
import { reportForm } from './desk-report.js';
import { el, tell } from './dom.js';

/**
 * @param {App} app
 * @returns {View}
 */
export function frontView(app) {
  const key = keyField(app.key);
  const word = field('word', 'Join word', {
    hint: 'May be left out where a single review is open.',
    autocapitalize: 'none',
    spellcheck: 'false',
  });
  const ready = () => {
    app.key = key.input.value.trim();
    key.blame(app.key ? '' : 'The key is needed; the server prints it when it starts.');
    word.blame('');
    if (!app.key) {
      key.input.focus();
    }
    return app.key !== '';
  };
  const conduct = (/** @type {Event} */ event) => {
    event.preventDefault();
    if (ready()) {
      app.conduct(word.input.value.trim().toLowerCase());
    }
  };
  const node = el(
    'div',
    { class: 'front' },
    el('h1', { tabindex: -1 }, 'The instructor’s desk'),
    el('form', { novalidate: true, onsubmit: conduct, autocomplete: 'off' },
      key.node,
      el('section', {},
        el('h2', {}, 'A review that is open'),
        word.node,
        el('button', { class: 'main', type: 'submit' }, 'Take it in hand')),
      el('section', {},
        el('h2', {}, 'Another review'),
        el('p', {}, 'Choose a muscle list, a list of your own, or a plan.'),
        el('button', { type: 'button', onclick: () => ready() && app.go('open') }, 'Open another review'))),
    reportForm(app, 'front', ready),
  );
  const blame = (/** @type {import('./desk-app.js').Fault} */ fault) =>
    (fault.field === 'word' ? word : key).blame(fault.text);
  return { node, title: 'The desk', blame };
}

/**
 * The key: hidden from those who look over the shoulder, unless asked for.
 * @param {string} value
 */
function keyField(value) {
  const key = field('key', 'Key', {
    hint: 'The server’s key, or that of one review. This tab keeps it until it is closed.',
    type: 'password',
    autocapitalize: 'none',
    spellcheck: 'false',
    value,
  });
  const turn = el('button', { type: 'button', 'aria-controls': 'key' }, 'Show the key');
  turn.addEventListener('click', () => {
    const hidden = key.input.type === 'password';
    key.input.type = hidden ? 'text' : 'password';
    tell(turn, hidden ? 'Hide the key' : 'Show the key');
  });
  const line = el('div', { class: 'line' });
  key.input.replaceWith(line);
  line.append(key.input, turn);
  return key;
}

/**
 * Waiting for the server's welcome, or nothing more comes.
 * @param {App} app
 * @returns {View}
 */
export function stoppedView(app) {
  const waits = app.screen === 'calling';
  const title = waits ? 'Connecting' : 'This did not work';
  const node = el(
    'div',
    { class: 'front' },
    el('h1', { tabindex: -1 }, title),
    el('p', {}, waits ? 'Calling the server …' : app.stop.said),
    el('button', { type: 'button', onclick: () => app.back() }, 'Back'),
  );
  return { node, title };
}
