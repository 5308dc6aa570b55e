// When and as whom a connection comes back; used by live.js.

/** @import { Hello, ToBoard, ToInstructor, ToStudent } from './wire.js' */

import { secret } from './ids.js';

/**
 * The wait before try number `tries`, counted from 1, in milliseconds: full jitter, so that a class that
 * lost its network together does not come back in step.
 * @param {number} tries
 * @param {number} jitter From 0 to 1.
 */
export function backoff(tries, jitter) {
  const ceiling = tries <= 1 ? 1_000 : Math.min(10_000, 250 * 2 ** Math.min(tries, 6));
  return ceiling * jitter;
}

/**
 * A `join` or `gather` with a seat token of our own: sent again, because the connection was lost before its
 * answer, it takes the same seat and not a second one.
 * @param {Hello} hello
 * @returns {Hello}
 */
export function withSeat(hello) {
  const takes = hello.type === 'join' || hello.type === 'gather';
  return takes && !hello.seat ? { ...hello, seat: secret() } : hello;
}

/**
 * The hello that comes back to the place that a welcome gave.
 * @param {Hello} hello
 * @param {ToStudent | ToInstructor | ToBoard} message
 * @returns {Hello}
 */
export function comeback(hello, message) {
  if (message.type === 'seated') {
    const seat = message.seat ?? ('seat' in hello ? hello.seat : null);
    return seat ? { type: 'return', word: message.review.word, seat } : hello;
  }
  if (message.type === 'conducting') {
    const key = message.key ?? ('key' in hello ? hello.key : null);
    return key ? { type: 'conduct', word: message.review.word, key } : hello;
  }
  return hello;
}

/**
 * Whether there is nothing to come back for after this message.
 * @param {ToStudent | ToInstructor | ToBoard} message
 */
export function isLast(message) {
  switch (message.type) {
    case 'ended':
    case 'removed':
      return true;
    case 'seated':
    case 'conducting':
    case 'watching':
      return message.moment.phase === 'ended';
    default:
      return false;
  }
}

/**
 * A message, or nothing where it is none. Text is shown as text, so it needs no cleaning here.
 * @param {unknown} data
 * @returns {any}
 */
export function read(data) {
  if (typeof data !== 'string') {
    return null;
  }
  try {
    const message = JSON.parse(data);
    return typeof message?.type === 'string' ? message : null;
  } catch {
    return null;
  }
}

/**
 * What a close code says, as a fragment.
 * @param {number} code
 */
export function fragment(code) {
  switch (code) {
    case 1001:
      return 'the server went away';
    case 1013:
      return 'this connection was too slow';
    case 1005:
    case 1006:
      return 'the connection broke';
    default:
      return `the server closed with code ${code}`;
  }
}
