// A student with a seat: what the server has told this student alone, beside what it has told everyone.
// Messages go in, the sitting changes; it knows no element and no socket.

/**
 * @import { Given, Motion, OwnResult, Summary, TimeAllowance, ToStudent, ErrorCode } from './wire.js'
 * @import { Attempt } from './seat.js'
 * @import { Review } from './state.js'
 */

import { limitOf } from './clock.js';
import { begun, follow } from './state.js';
import { seconds, sentence } from './words.js';

/**
 * The student's own answer in the round at hand.
 * - `nothing` yet; `sent`, or to be sent once the connection is back; `taken`: the server has it, on disk if
 *   `recorded`; `barred`: no answer can be given any more, `why` is a sentence.
 * @typedef {{ kind: 'nothing' } | { kind: 'sent', attempt: Attempt }
 *   | { kind: 'taken', attempt: Attempt, recorded: boolean } | { kind: 'barred', why: string }} Own
 */

/**
 * What the server asked back: several muscles have the name typed, or none has it.
 * @typedef {{ typed: string, several: boolean, names: readonly string[] }} Ask
 */

/**
 * @typedef {object} Sitting
 * @property {string} name After cleaning.
 * @property {Review} review
 * @property {TimeAllowance} time
 * @property {number} total Points so far.
 * @property {Own} own
 * @property {Ask | null} ask
 * @property {OwnResult | null} result
 * @property {Summary | null} summary
 * @property {Set<Motion>} votes What the student is for.
 * @property {boolean} cameBack Whether a seat kept by this device was returned to.
 */

/** What is to be told to the student in a sentence, if anything. @typedef {string | null} Told */

/**
 * The sitting as a welcome tells it. In the same round as before, an answer that the server does not know is
 * still to be sent.
 * @param {Extract<ToStudent, { type: 'seated' }>} seated
 * @param {{ before: Sitting | null, kept: (round: number) => Attempt | null, cameBack: boolean }} past
 * @returns {Sitting}
 */
export function sat(seated, { before, kept, cameBack }) {
  const { moment } = seated;
  const review = begun(seated);
  /** @type {Sitting} */
  const sitting = {
    name: seated.name,
    review,
    time: seated.time,
    total: seated.total,
    own: { kind: 'nothing' },
    ask: null,
    result: moment.phase === 'revealed' ? (moment.result ?? null) : null,
    summary: moment.phase === 'ended' ? (moment.summary ?? null) : null,
    votes: new Set(),
    cameBack,
  };
  if (moment.phase === 'closed') {
    sitting.own = taken(moment.given, moment.round, 0);
  }
  if (moment.phase === 'open') {
    openAgain(sitting, moment, before, kept);
  }
  return sitting;
}

/**
 * Takes in a message.
 * @param {Sitting} sitting
 * @param {ToStudent} message
 * @returns {Told}
 */
export function hear(sitting, message) {
  const { review } = sitting;
  const was = review.stage;
  follow(review, message);
  if (review.stage !== was) {
    turn(sitting);
  }
  switch (message.type) {
    case 'received':
    case 'recorded':
    case 'which_one':
    case 'unknown_name':
      reply(sitting, message);
      return null;
    case 'result':
      sitting.total = message.total;
      sitting.result = message;
      return null;
    case 'summary':
      sitting.summary = message;
      return null;
    case 'time_changed':
      return timeChanged(sitting, message.time);
    case 'renamed':
      sitting.name = message.name;
      return `The instructor has changed your name to ${message.name}.`;
    case 'paused':
      sitting.votes.delete('pause');
      return null;
    case 'resumed':
      sitting.votes.delete('resume');
      return null;
    case 'trouble':
      return message.trouble === 'saving_again' ? 'The server can save answers again.' : null;
    case 'error':
      return refused(sitting, message.code, message.message);
    default:
      return null;
  }
}

/**
 * The student's own limit in a round with this limit for the class, in milliseconds; `null` is none.
 * @param {Sitting} sitting
 * @param {number} base
 */
export function ownLimit(sitting, base) {
  return limitOf(sitting.time, base);
}

/**
 * The attempt that was sent, if there is one.
 * @param {Own} own
 */
export function attemptOf(own) {
  return own.kind === 'sent' || own.kind === 'taken' ? own.attempt : null;
}

/**
 * Whether it is a study group.
 * @param {Sitting} sitting
 */
export function isGroup(sitting) {
  return sitting.review.info.pace.kind === 'group';
}

/**
 * @param {Sitting} sitting
 * @param {{ round: number, given?: Given | null, elapsed_ms: number }} moment
 * @param {Sitting | null} before
 * @param {(round: number) => Attempt | null} kept
 */
function openAgain(sitting, moment, before, kept) {
  const { round, given } = moment;
  const stage = before?.review.stage;
  const same = before && stage?.phase === 'open' && stage.round === round ? before : null;
  sitting.ask = same?.ask ?? null;
  if (given) {
    const sent = same ? attemptOf(same.own) : null;
    const elapsed = sent?.id === given.attempt ? sent.elapsed : moment.elapsed_ms;
    sitting.own = taken(given, round, elapsed);
    return;
  }
  // Never arrived, or lost before it was on disk: it goes out once more.
  const attempt = same ? attemptOf(same.own) : kept(round);
  if (attempt) {
    sitting.own = { kind: 'sent', attempt };
  } else if (same) {
    sitting.own = same.own;
  }
}

/**
 * The student's own answer as the server knows it. The client's own time of it is not told; the round's time
 * by now is the most that it can have been.
 * @param {Given | null | undefined} given
 * @param {number} round
 * @param {number} elapsed
 * @returns {Own}
 */
function taken(given, round, elapsed) {
  if (!given) {
    return { kind: 'nothing' };
  }
  const attempt = { round, id: given.attempt, text: given.text, elapsed };
  return { kind: 'taken', attempt, recorded: given.recorded };
}

/**
 * Another stage: what belonged to the round goes, and votes are void as the server voids them.
 * @param {Sitting} sitting
 */
function turn(sitting) {
  sitting.ask = null;
  if (sitting.review.stage.phase === 'open') {
    sitting.own = { kind: 'nothing' };
    sitting.result = null;
  }
  sitting.votes = new Set([...sitting.votes].filter((motion) => motion === 'end'));
}

/**
 * Takes in a reply. One to another attempt than the last changes nothing, and what was taken stays taken.
 * @param {Sitting} sitting
 * @param {Extract<ToStudent, { type: 'received' | 'recorded' | 'which_one' | 'unknown_name' }>} message
 */
function reply(sitting, message) {
  const { own } = sitting;
  const attempt = attemptOf(own);
  if (!attempt || attempt.id !== message.attempt) {
    return;
  }
  if (message.type === 'recorded') {
    sitting.own = { kind: 'taken', attempt, recorded: true };
  } else if (own.kind === 'taken') {
    return;
  } else if (message.type === 'received') {
    sitting.own = { kind: 'taken', attempt, recorded: false };
  } else {
    const several = message.type === 'which_one';
    const names = message.type === 'which_one' ? message.among : message.nearest;
    sitting.own = { kind: 'nothing' };
    sitting.ask = { typed: attempt.text, several, names };
  }
}

/**
 * Something was refused; with an answer on its way, the answer. What was typed still stands in the field.
 * @param {Sitting} sitting
 * @param {ErrorCode} code
 * @param {string} message
 * @returns {Told}
 */
function refused(sitting, code, message) {
  if (sitting.own.kind !== 'sent') {
    return sentence(message);
  }
  if (code === 'round_not_open' || code === 'too_late' || code === 'already_answered') {
    sitting.own = { kind: 'barred', why: sentence(message) };
    return null;
  }
  sitting.own = { kind: 'nothing' };
  return sentence(message);
}

/**
 * @param {Sitting} sitting
 * @param {TimeAllowance} time
 */
function timeChanged(sitting, time) {
  sitting.time = time;
  const limit = limitOf(time, sitting.review.info.limit_ms);
  return `Your own time from the next round on: ${limit === null ? 'no limit' : seconds(limit)}.`;
}
