// What a student's device keeps: its secret, and the seats that it has taken, so that a page that was closed
// or killed comes back to the same one. Where the browser keeps nothing, all works without.

import { secret } from './ids.js';

/**
 * A seat in a review, and the answer that was not confirmed yet.
 * @typedef {{ name: string, seat: string }} Seat
 * @typedef {{ round: number, id: string, text: string, elapsed: number }} Attempt
 */

const PERSON = 'myonym.person';
const SEATS = 'myonym.seats';
const ATTEMPT = 'myonym.attempt';
/** A term's reviews; older seats go. */
const MOST_SEATS = 40;

/** The secret by which this device is known again; nothing where it cannot be kept. */
export function person() {
  const kept = read(localStorageOf(), PERSON);
  if (typeof kept === 'string' && /^[0-9a-f]{32}$/.test(kept)) {
    return kept;
  }
  const made = secret();
  return write(localStorageOf(), PERSON, made) ? made : null;
}

/**
 * The seat taken in the review with this join word.
 * @param {string} word
 * @returns {Seat | null}
 */
export function seatIn(word) {
  const found = seats().find(([kept]) => kept === word);
  return found ? found[1] : null;
}

/** The name that was used last on this device; empty where there is none. */
export function lastName() {
  return seats()[0]?.[1].name ?? '';
}

/**
 * Keeps a seat.
 * @param {string} word
 * @param {Seat} seat
 */
export function keepSeat(word, seat) {
  const others = seats().filter(([kept]) => kept !== word);
  write(localStorageOf(), SEATS, [[word, seat], ...others].slice(0, MOST_SEATS));
}

/**
 * Forgets a seat.
 * @param {string} word
 */
export function forgetSeat(word) {
  write(localStorageOf(), SEATS, seats().filter(([kept]) => kept !== word));
}

/**
 * Keeps an answer that is on its way; `null` once it need not be sent again.
 * @param {string} word
 * @param {Attempt | null} attempt
 */
export function keepAttempt(word, attempt) {
  write(sessionStorageOf(), ATTEMPT, attempt && { word, attempt });
}

/**
 * The answer that was on its way in this round when the page was closed.
 * @param {string} word
 * @param {number} round
 * @returns {Attempt | null}
 */
export function attemptIn(word, round) {
  const kept = read(sessionStorageOf(), ATTEMPT);
  return kept?.word === word && kept.attempt?.round === round ? kept.attempt : null;
}

/** @returns {[string, Seat][]} */
function seats() {
  const kept = read(localStorageOf(), SEATS);
  return Array.isArray(kept) ? kept : [];
}

/** A browser may forbid even to look. */
function localStorageOf() {
  try {
    return localStorage;
  } catch {
    return null;
  }
}

function sessionStorageOf() {
  try {
    return sessionStorage;
  } catch {
    return null;
  }
}

/**
 * @param {Storage | null} store
 * @param {string} key
 * @returns {any}
 */
function read(store, key) {
  try {
    return JSON.parse(store?.getItem(key) ?? 'null');
  } catch {
    return null;
  }
}

/**
 * @param {Storage | null} store
 * @param {string} key
 * @param {unknown} value
 */
function write(store, key, value) {
  try {
    store?.setItem(key, JSON.stringify(value));
    return store !== null;
  } catch {
    return false;
  }
}
