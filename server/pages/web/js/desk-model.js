// What the desk knows of the review in hand: what everyone is told, and what only the instructor is.

/**
 * @import { Coming, FromInstructor, RollRow, SpreadRow, ToInstructor, WeakSpots } from './wire.js'
 * @import { Review } from './state.js'
 */

import { begun, follow } from './state.js';
import { count, sentence } from './words.js';

/**
 * How the round stands: students who answered, who were here at some time of it (0 until told), and what was
 * answered.
 * @typedef {{ round: number, answered: number, here: number, spread: readonly SpreadRow[], askedAgain: number }} Tally
 */

/**
 * @typedef {object} Hand
 * @property {Review} review
 * @property {string[]} links Where students join, best first; at least one.
 * @property {Map<string, RollRow>} roll By student.
 * @property {string[]} removed Names of those taken out from this page.
 * @property {Tally | null} tally Of the round at hand.
 * @property {WeakSpots} weakSpots
 * @property {Coming | null} coming
 * @property {boolean} pending Whether a step was sent and is not answered yet.
 * @property {number} since When the review came to stand where it does, by `performance.now`.
 */

/** @typedef {Extract<ToInstructor, { type: 'conducting' }>} Conducting */

/**
 * The review as the server's welcome tells it; it replaces all that went before.
 * @param {Conducting} told
 * @param {Hand | null} before
 * @param {string} here The address of this page, where the server names none.
 * @returns {Hand}
 */
export function inHand(told, before, here) {
  const { word } = told.review;
  const scheme = told.secure ? 'https' : 'http';
  const links = told.addresses.map((address) => `${scheme}://${address}/?word=${word}`);
  const same = before?.review.info.review === told.review.review ? before : null;
  const hand = {
    review: begun(told),
    links: links.length > 0 ? links : [`${here}/?word=${word}`],
    roll: new Map(told.roll.map((row) => [row.student, row])),
    removed: same?.removed ?? [],
    tally: tallyAgain(told, same),
    weakSpots: told.weak_spots,
    coming: told.coming ?? null,
    pending: false,
    // What has just come into hand was not changed by a press of its button.
    since: same ? performance.now() : -Infinity,
  };
  hand.review.present = present(hand);
  return hand;
}

/**
 * Until the next tally, what was told before the connection was lost is better than nothing.
 * @param {Conducting} told
 * @param {Hand | null} before
 * @returns {Tally | null}
 */
function tallyAgain({ moment, roll }, before) {
  if (moment.phase !== 'open' && moment.phase !== 'closed') {
    return null;
  }
  const answered = roll.filter((row) => row.answered).length;
  if (before?.tally?.round === moment.round) {
    return { ...before.tally, answered: Math.max(answered, before.tally.answered) };
  }
  return { ...NO_TALLY, round: moment.round, answered };
}

/** @type {Tally} */
const NO_TALLY = { round: 0, answered: 0, here: 0, spread: [], askedAgain: 0 };

/**
 * Takes in a message.
 * @param {Hand} hand
 * @param {ToInstructor} message
 * @returns {string | null} What to tell the instructor of it.
 */
export function hear(hand, message) {
  const { stage } = hand.review;
  follow(hand.review, message);
  if (hand.review.stage !== stage) {
    turned(hand, message);
  }
  switch (message.type) {
    case 'roll':
      message.rows.forEach((row) => hand.roll.set(row.student, row));
      return null;
    case 'gone':
      return gone(hand, message.student);
    case 'tally': {
      const { round, answered, here, spread, asked_again: askedAgain } = message;
      hand.tally = { round, answered, here, spread, askedAgain };
      return null;
    }
    case 'weak_spots':
      hand.weakSpots = message;
      return null;
    case 'coming':
      hand.coming = message;
      return null;
    case 'trouble':
      return message.trouble === 'saving_again' ? 'The server can save answers again.' : null;
    case 'error':
      hand.pending = false;
      return sentence(message.message);
    default:
      return null;
  }
}

/**
 * The review has come to stand elsewhere.
 * @param {Hand} hand
 * @param {ToInstructor} message
 */
function turned(hand, message) {
  hand.pending = false;
  hand.since = performance.now();
  if (message.type === 'round_opened') {
    hand.tally = { ...NO_TALLY, round: message.round };
    for (const [student, row] of hand.roll) {
      hand.roll.set(student, { ...row, answered: false });
    }
  } else if (message.type === 'round_closed' && hand.tally) {
    hand.tally = { ...hand.tally, answered: message.answered };
  }
}

/**
 * @param {Hand} hand
 * @param {string} student
 */
function gone(hand, student) {
  const row = hand.roll.get(student);
  hand.roll.delete(student);
  if (row) {
    hand.removed = [...hand.removed, row.name];
  }
  return null;
}

/**
 * Students connected now.
 * @param {Hand} hand
 */
export function present({ roll }) {
  return [...roll.values()].filter((row) => row.present).length;
}

/**
 * Answers recorded, and how many there can be.
 * @param {Hand} hand
 */
export function answers(hand) {
  const { answered, here } = hand.tally ?? NO_TALLY;
  return { answered, of: Math.max(here, present(hand)) };
}

/**
 * What is planned of the round at hand, or between rounds of the next.
 * @param {Hand} hand
 */
export function planned({ coming, review: { stage } }) {
  const round = {
    gathering: 1,
    open: 'round' in stage ? stage.round : 0,
    closed: 'round' in stage ? stage.round : 0,
    revealed: 'round' in stage ? stage.round + 1 : 0,
    skipped: 'round' in stage ? stage.round + 1 : 0,
    ended: 0,
  }[stage.phase];
  return coming?.round === round ? coming : null;
}

/**
 * The one thing to do next: what its button says and sends, and a sentence beside it.
 * @typedef {{ label: string, say: string, step: FromInstructor | null }} Next
 */

/**
 * @param {Hand} hand
 * @returns {Next}
 */
export function next(hand) {
  const { stage, info, halted } = hand.review;
  const byItself = info.pace.kind !== 'instructor';
  switch (stage.phase) {
    case 'gathering':
      return gathering(present(hand));
    case 'open': {
      const { answered, of } = answers(hand);
      return { label: 'Close the round', say: openSay(answered, of, halted, byItself), step: { type: 'close_round' } };
    }
    case 'closed':
      return {
        label: 'Show the answer',
        say: byItself ? 'The answer follows by itself.' : 'The round takes no more answers.',
        step: { type: 'reveal' },
      };
    case 'revealed':
    case 'skipped': {
      const { round, of } = stage;
      const last = round >= of;
      const waits = byItself && stage.phase === 'revealed' && !halted;
      const still = halted ? 'Paused.' : last ? 'That was the last round.' : `${count(of - round, 'round')} to come.`;
      return {
        label: last ? 'Finish the review' : `Open round ${round + 1} of ${of}`,
        say: waits ? 'It goes on by itself.' : still,
        step: { type: 'next' },
      };
    }
    case 'ended':
      return { label: 'Hold another review', say: 'This review is over.', step: null };
  }
}

/**
 * @param {number} here
 * @returns {Next}
 */
function gathering(here) {
  // A slip must not begin a review that has no students.
  return here === 0
    ? { label: 'Start', say: 'Show the link and the join word; nobody is here yet.', step: null }
    : {
        label: `Start with ${count(here, 'student')}`,
        say: 'Opens the first round.',
        step: { type: 'start' },
      };
}

/**
 * @param {number} answered
 * @param {number} of
 * @param {boolean} halted
 * @param {boolean} byItself
 */
function openSay(answered, of, halted, byItself) {
  if (halted) {
    return 'Paused: the time stands still.';
  }
  if (answered >= of && of > 0) {
    return 'Everyone here has answered.';
  }
  const itself = byItself ? '; it closes by itself' : '';
  return `${answered} of ${of} answers are in${itself}.`;
}

/**
 * What else can be done at this moment.
 * @param {Hand} hand
 */
export function possible({ review: { stage, info, halted } }) {
  const open = stage.phase === 'open';
  const between = info.pace.kind !== 'instructor' && (stage.phase === 'revealed' || stage.phase === 'skipped');
  return {
    pause: open || between,
    halted,
    skip: open || stage.phase === 'closed',
    end: stage.phase !== 'ended',
  };
}
