// A question before a deed that cannot be taken back, in the page itself.

/** @import { Child } from './dom.js' */

import { el } from './dom.js';

/**
 * Opens a dialog; Escape closes it, and the focus goes back to where it was.
 * @param {Child} title
 * @param {...Child} children
 * @returns {{ dialog: HTMLDialogElement, answer: Promise<string> }} What closed it: a button's value, or ''.
 */
export function dialog(title, ...children) {
  const made = el('dialog', { 'aria-labelledby': 'dialog-title' }, el('h2', { id: 'dialog-title' }, title), ...children);
  document.body.append(made);
  /** @type {Promise<string>} */
  const answer = new Promise((resolve) => {
    made.addEventListener('close', () => {
      made.remove();
      resolve(made.returnValue);
    });
  });
  made.showModal();
  return { dialog: made, answer };
}

/**
 * @param {Child} question
 * @param {string} yes What the button that does it says.
 * @param {string} note What follows from it.
 * @returns {Promise<boolean>}
 */
export async function ask(question, yes, note) {
  const form = el(
    'form',
    { method: 'dialog', class: 'buttons' },
    el('button', { value: '', autofocus: true }, 'No, go on'),
    el('button', { value: 'yes', class: 'main' }, yes),
  );
  return (await dialog(question, el('p', {}, note), form).answer) === 'yes';
}
