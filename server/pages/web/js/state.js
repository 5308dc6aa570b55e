// What the server has told everyone of a review, kept up from its messages: the student's page, the board
// and the desk are drawn from it.
//
//   let review = null;
//   hears(message) {
//     if (message.type === 'watching') review = begun(message);   // 'seated', 'conducting'
//     else if (review) follow(review, message);                   // true if it was for everyone
//     draw();
//   }

/**
 * @import { ClueShown, CloseWhy, EndWhy, Moment, Reveal, ReviewInfo, StandingRow, Task, ToBoard, ToInstructor, ToStudent, VoteRow } from './wire.js'
 */

import { Watch } from './clock.js';

/**
 * A round that takes answers; times in milliseconds.
 * @typedef {object} Open
 * @property {'open'} phase
 * @property {number} round
 * @property {number} of
 * @property {Task} task
 * @property {string | null} example A movement in the form wanted, not a right one.
 * @property {readonly string[]} offered The two muscles to choose between, or none.
 * @property {number} limit The limit of the class.
 * @property {number} clueCount
 * @property {ClueShown[]} clues Those shown so far.
 * @property {Watch} watch
 */

/**
 * A round that takes no more answers. `counts` is unknown to one who came in after.
 * @typedef {object} Shut
 * @property {'closed'} phase
 * @property {number} round
 * @property {number} of
 * @property {Task} task
 * @property {readonly string[]} offered
 * @property {CloseWhy} why
 * @property {ClueShown[]} clues
 * @property {{ answered: number, seated: number } | null} counts
 */

/** @typedef {{ phase: 'revealed', round: number, of: number, reveal: Reveal }} Revealed */

/**
 * Where a review stands.
 * @typedef {{ phase: 'gathering' } | Open | Shut | Revealed
 *   | { phase: 'skipped', round: number, of: number } | { phase: 'ended', why: EndWhy }} Stage
 */

/**
 * @typedef {object} Review
 * @property {ReviewInfo} info
 * @property {Stage} stage
 * @property {number} present Students connected now, once told.
 * @property {number | null} seated Students with a seat, once told.
 * @property {VoteRow[]} votes
 * @property {boolean} halted Whether the time stands still, in a round or between two.
 * @property {boolean} cannotSave
 * @property {StandingRow[]} standings
 * @property {number | null} standingsOf How many have a place, once told.
 */

/** @typedef {ToStudent | ToInstructor | ToBoard} Message */

/**
 * The review as a welcome tells it.
 * @param {Extract<Message, { moment: Moment }>} welcome
 * @returns {Review}
 */
export function begun(welcome) {
  const { moment, review } = welcome;
  const rows = moment.phase === 'revealed' || moment.phase === 'ended' ? moment.standings : [];
  return {
    info: review,
    stage: stageOf(moment),
    present: welcome.type === 'seated' ? welcome.present : 0,
    seated: null,
    votes: [],
    halted: moment.phase === 'open' && moment.paused,
    cannotSave: false,
    standings: rows,
    standingsOf: null,
  };
}

/**
 * Takes in a message that everyone hears.
 * @param {Review} review
 * @param {Message} message
 * @returns {boolean} Whether it was one.
 */
export function follow(review, message) {
  switch (message.type) {
    case 'class':
      review.present = message.present;
      review.seated = message.seated;
      return true;
    case 'votes':
      review.votes = message.rows;
      return true;
    case 'standings':
      review.standings = message.rows;
      review.standingsOf = message.of;
      return true;
    case 'trouble':
      review.cannotSave = message.trouble === 'cannot_save';
      return true;
    case 'paused':
    case 'resumed':
      halt(review, message.type === 'paused');
      return true;
    case 'clue':
      clue(review, message);
      return true;
    default:
      return turned(review, message);
  }
}

/**
 * The round at hand, and of how many; nothing before the first and after the last.
 * @param {Review} review
 */
export function roundOf({ stage }) {
  return 'round' in stage ? { round: stage.round, of: stage.of } : null;
}

/**
 * Takes in a message that opens, closes, reveals or ends.
 * @param {Review} review
 * @param {Message} message
 */
function turned(review, message) {
  const stage = nextStage(review, message);
  if (stage) {
    review.stage = stage;
    review.halted = false;
  }
  return stage !== null;
}

/**
 * @param {Review} review
 * @param {Message} message
 * @returns {Stage | null}
 */
function nextStage(review, message) {
  const of = roundOf(review)?.of ?? review.info.rounds;
  switch (message.type) {
    case 'round_opened':
      return opened(message, new Watch(0, false), [message.clue]);
    case 'round_closed':
      return closed(review.stage, message);
    case 'round_skipped':
      return { phase: 'skipped', round: message.round, of };
    case 'revealed':
      return { phase: 'revealed', round: message.round, of, reveal: message.reveal };
    case 'ended':
      return { phase: 'ended', why: message.why };
    default:
      return null;
  }
}

/**
 * @param {Extract<Message, { type: 'round_opened' }> | Extract<Moment, { phase: 'open' }>} told
 * @param {Watch} watch
 * @param {ClueShown[]} clues
 * @returns {Open}
 */
function opened(told, watch, clues) {
  return {
    phase: 'open',
    round: told.round,
    of: told.of,
    task: told.task ?? 'name',
    example: told.example ?? null,
    offered: told.offered ?? [],
    limit: told.limit_ms,
    clueCount: told.clue_count,
    clues,
    watch,
  };
}

/**
 * @param {Stage} before
 * @param {Extract<Message, { type: 'round_closed' }>} message
 * @returns {Shut | null}
 */
function closed(before, { round, why, answered, seated }) {
  if (before.phase !== 'open' || before.round !== round) {
    return null;
  }
  const { of, task, offered, clues } = before;
  return { phase: 'closed', round, of, task, offered, clues, why, counts: { answered, seated } };
}

/**
 * @param {Review} review
 * @param {Extract<Message, { type: 'clue' }>} message
 */
function clue({ stage }, message) {
  // One that is there already, or of another round, changes nothing.
  const isNext = stage.phase === 'open' && message.number > stage.clues.length;
  if (isNext && stage.round === message.round) {
    stage.clues.push(message.clue);
  }
}

/**
 * @param {Review} review
 * @param {boolean} halted
 */
function halt(review, halted) {
  review.halted = halted;
  if (review.stage.phase === 'open') {
    if (halted) {
      review.stage.watch.halt();
    } else {
      review.stage.watch.goOn();
    }
  }
}

/**
 * @param {Moment} moment
 * @returns {Stage}
 */
function stageOf(moment) {
  switch (moment.phase) {
    case 'gathering':
      return { phase: 'gathering' };
    case 'open':
      return opened(moment, new Watch(moment.elapsed_ms, moment.paused), moment.clues);
    case 'closed': {
      const { round, of, why, clues } = moment;
      const [task, offered] = [moment.task ?? 'name', moment.offered ?? []];
      return { phase: 'closed', round, of, task, offered, why, clues, counts: null };
    }
    case 'revealed':
      return { phase: 'revealed', round: moment.round, of: moment.of, reveal: moment.reveal };
    case 'skipped':
      return { phase: 'skipped', round: moment.round, of: moment.of };
    case 'ended':
      return { phase: 'ended', why: moment.why };
  }
}
