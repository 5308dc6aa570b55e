// How students join: the address to type, the join word, and a code that holds both.

/**
 * @import { Room } from './board-app.js'
 */

import { el } from './dom.js';

/**
 * The link that the code holds.
 * @param {Room} room
 */
export function linkOf({ address, secure, review }) {
  return `${secure ? 'https' : 'http'}://${address}/?word=${review.info.word}`;
}

/**
 * An address as it is typed into a browser: one without TLS needs no scheme.
 * @param {Room} room
 * @param {string} [address]
 */
export function typed(room, address = room.address) {
  return room.secure ? `https://${address}` : address;
}

/**
 * The code to scan.
 * @param {Room} room
 */
export function code(room) {
  const link = linkOf(room);
  const src = `/qr.svg?link=${encodeURIComponent(link)}`;
  return el('img', { class: 'code', src, alt: `Code to scan: ${link}`, width: 300, height: 300 });
}

/**
 * A word that may break after its hyphens only.
 * @param {string} word
 */
export function unbroken(word) {
  return word.split(/(?<=-)/).map((part) => el('span', { class: 'part' }, part));
}
