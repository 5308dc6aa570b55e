// Words and numbers as the pages say them; the terminal says the same. A meaning is always a word; colour
// and signs only repeat it.

/**
 * @import { CloseWhy, EndWhy, ErrorCode, Motion, Pace, Reveal, ReviewInfo, Task, TimeAllowance, Verdict, VoteRow, View } from './wire.js'
 * @import { Standing } from './live.js'
 */

import { limitOf } from './clock.js';

/** The word of a verdict. @type {Readonly<Record<Verdict, string>>} */
export const VERDICT = { right: 'right', near: 'near-miss', wrong: 'wrong', silent: 'no answer' };

/** The sign of a verdict, beside its word. @type {Readonly<Record<Verdict, string>>} */
export const SIGN = { right: '+', near: '~', wrong: '×', silent: '–' };

/** What a round asks a class, as a sentence. @type {Readonly<Record<Task, string>>} */
export const ASKED = {
  name: 'Which muscle is it?',
  picture: 'Which muscle is it?',
  movement: 'Which movement does it make?',
  contrast: 'Which of the two is it?',
};

/** What is typed in a round. @type {Readonly<Record<Task, string>>} */
export const THING = { name: 'muscle', picture: 'muscle', movement: 'movement', contrast: 'muscle' };

/** That a round is closed, and why. @type {Readonly<Record<CloseWhy, string>>} */
export const CLOSE_WHY = {
  time_up: 'Time is up: the round is closed.',
  all_answered: 'Everyone here has answered: the round is closed.',
  instructor: 'The instructor has closed the round.',
};

/** What a study group votes on. @type {Readonly<Record<Motion, string>>} */
export const MOTION = { skip: 'skip', pause: 'pause', resume: 'go on', next: 'next', end: 'end' };

/** From where a picture is seen. @type {Readonly<Record<View, string>>} */
export const SEEN = {
  front: 'seen from the front',
  back: 'seen from behind',
  side: 'seen from the right side',
  above: 'seen from above',
};

/** That the server cannot save, for students. */
export const CANNOT_SAVE =
  'The server cannot save answers just now. This round will not count; wait for the next.';

const VERSIONS = 'This page and the server may be of different versions. Load the page again.';

/** What to do about a refusal, whoever was refused. @type {Partial<Record<ErrorCode, string>>} */
export const ANYWHERE = {
  slow_down: 'Wait a minute, then try again.',
  too_many: 'Wait a minute, then try again.',
  not_readable: VERSIONS,
  unknown_type: VERSIONS,
  bad_field: VERSIONS,
  hello_first: VERSIONS,
};

/**
 * Why a review ended, as a sentence.
 * @param {EndWhy} why
 * @param {Pace} pace
 */
export function endWhy(why, pace) {
  switch (why) {
    case 'finished':
      return 'All rounds are done.';
    case 'instructor':
      return pace.kind === 'group'
        ? 'The study group has ended the review.'
        : 'The instructor has ended the review.';
    case 'abandoned':
      return 'The review was closed because nobody came back to it.';
  }
}

/**
 * Whole seconds, rounded up: `27 s`, or `2:05` from two minutes on.
 * @param {number} ms
 */
export function seconds(ms) {
  const whole = Math.ceil(ms / 1000);
  return whole < 120
    ? `${whole} s`
    : `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, '0')}`;
}

/**
 * A student's time beside the class: `1.5 ×`, `no limit`, or `class time`.
 * @param {TimeAllowance} time
 */
export function allowance(time) {
  switch (time.kind) {
    case 'standard':
      return 'class time';
    case 'stretched':
      return `${time.percent / 100} ×`;
    case 'untimed':
      return 'no limit';
  }
}

/**
 * Points as a class reads them: whole, or to one tenth where less than one was earned.
 * @param {number} points
 */
export function points(points) {
  const size = Math.abs(points);
  return pointsTo(points, size >= 0.05 && size < 0.95 ? 1 : 0);
}

/**
 * Points to a number of decimals. A half goes to the even digit, as in the terminal.
 * @param {number} points
 * @param {number} decimals
 */
export function pointsTo(points, decimals) {
  const unit = 10 ** decimals;
  const scaled = points * unit;
  const whole = Math.abs(scaled % 1) === 0.5 ? 2 * Math.round(scaled / 2) : Math.round(scaled);
  // Nothing is not less than nothing.
  return ((whole === 0 ? 0 : whole) / unit).toFixed(decimals).replace('-', '−');
}

/**
 * Points with their noun: `66 points`, `1 point`.
 * @param {number} earned
 */
export function somePoints(earned) {
  const said = points(earned);
  return `${said} ${said === '1' || said === '−1' ? 'point' : 'points'}`;
}

/**
 * `place 4 of 24`; nothing for a first place without points, which everyone has.
 * @param {number} total
 * @param {number} place
 * @param {number} of
 */
export function place(total, place, of) {
  return place > 1 || points(total) !== '0' ? `place ${place} of ${of}` : null;
}

/**
 * Points and the place that they give, as a sentence.
 * @param {{ total: number, place: number, of: number }} own
 */
export function standing(own) {
  const where = place(own.total, own.place, own.of);
  return `${somePoints(own.total)} in all${where ? `, ${where}` : ''}.`;
}

/**
 * A count with its noun: `1 student`, `2 students`.
 * @param {number} number
 * @param {string} one
 * @param {string} [many]
 */
export function count(number, one, many = `${one}s`) {
  return `${number} ${number === 1 ? one : many}`;
}

/**
 * A fragment as a sentence: with a capital letter and a full stop.
 * @param {string} fragment
 */
export function sentence(fragment) {
  const [first = '', ...rest] = fragment;
  const stop = fragment === '' || /[.?!]$/.test(fragment) ? '' : '.';
  return `${first.toUpperCase()}${rest.join('')}${stop}`;
}

/**
 * A Roman numeral, as plates number their parts.
 * @param {number} number
 */
export function roman(number) {
  let [left, numeral] = [number, ''];
  for (const [value, sign] of NUMERALS) {
    while (left >= value) {
      numeral += sign;
      left -= value;
    }
  }
  return numeral;
}

/** @type {readonly (readonly [number, string])[]} */
const NUMERALS = [
  [100, 'C'], [90, 'XC'], [50, 'L'], [40, 'XL'], [10, 'X'], [9, 'IX'], [5, 'V'], [4, 'IV'], [1, 'I'],
];

/**
 * Names as a sentence has them: `a, b or c`.
 * @param {readonly string[]} names
 * @param {string} word
 */
export function listed(names, word) {
  const [last = '', ...others] = [...names].reverse();
  return others.length === 0 ? last : `${others.reverse().join(', ')} ${word} ${last}`;
}

/**
 * That the connection is lost, as a sentence; nothing where it stands, is new or is closed.
 * @param {Standing} standing
 * @param {number} now By `performance.now`.
 */
export function lost(standing, now) {
  if (standing.kind !== 'lost') {
    return null;
  }
  const wait = standing.retryAt - now;
  return `No connection (${standing.why}). Trying again ${wait > 0 ? `in ${seconds(wait)}` : 'now'}.`;
}

/**
 * Who moves the review on, and what its rounds go by, as sentences for students.
 * @param {ReviewInfo} review
 */
export function howItGoes(review) {
  const chosen = review.adaptive ? ' Each is chosen by what the class has answered.' : '';
  return `${PACE[review.pace.kind]}${chosen}`;
}

/** @type {Readonly<Record<Pace['kind'], string>>} */
const PACE = {
  instructor: 'The instructor opens each round.',
  automatic: 'Once it has begun, rounds follow each other by themselves.',
  group:
    'Anyone here starts it. Rounds then follow each other by themselves, and what more than half of those ' +
    'here vote for is done.',
};

/**
 * What a student should know of how a review is marked, one sentence each.
 * @param {ReviewInfo} review
 * @param {TimeAllowance} time
 */
export function terms(review, time) {
  const tasks = review.tasks ?? [];
  const limit = limitOf(time, review.limit_ms);
  const moves = tasks.includes('movement');
  const rule = RULE[review.rule][limit === null ? 'untimed' : 'timed'];
  const only = moves ? 'thing' : 'muscle';
  return [
    asksFor(tasks),
    limit === null ? 'You have no time limit.' : `You have ${seconds(limit)} for a round.`,
    // Names alone are what everyone expects.
    moves ? rule.replaceAll(' name', ' answer') : rule,
    tasks.includes('contrast')
      ? 'Where two are offered, the other one is wrong, however near it is.'
      : null,
    review.spelling === 'strict'
      ? 'Spelling counts: a misspelt name is wrong.'
      : `A slip of spelling counts if only one ${only} can be meant.`,
  ].filter((term) => term !== null);
}

/** @type {Readonly<Record<ReviewInfo['rule'], { timed: string, untimed: string }>>} */
const RULE = {
  speed_weighted: {
    timed:
      'A right name earns 100 points at once and 50 at the limit; a near-miss earns a small part of that, ' +
      'a wrong name nothing.',
    untimed:
      'A right name earns 100 points; a near-miss earns a small part of that, a wrong name nothing.',
  },
  signed_residual_time: {
    timed:
      'A right name earns 100 points at once and none at the limit; a wrong name costs as many, a ' +
      'near-miss somewhat less. If you do not know, give no answer.',
    untimed:
      'A right name earns 100 points; a wrong name costs as many, a near-miss somewhat less. If you do ' +
      'not know, give no answer.',
  },
};

/** @type {Readonly<Record<Task, string>>} */
const ASKS = {
  name: 'name a muscle from clues',
  picture: 'name a muscle from a picture',
  movement: 'tell a movement that a muscle makes from where it is attached',
  contrast: 'choose between two muscles from clues',
};

/**
 * What rounds ask for, as a sentence, where it is not names from clues alone.
 * @param {readonly Task[]} tasks
 */
function asksFor(tasks) {
  if (tasks.length === 0 || (tasks.length === 1 && tasks[0] === 'name')) {
    return null;
  }
  const [last, ...others] = tasks.map((task) => ASKS[task]).reverse();
  const before = others.length === 0 ? '' : `${others.reverse().join(', ')}, or `;
  return `A round asks you to ${before}${last}.`;
}

/**
 * How the votes of a study group stand, `own` being what the reader is for.
 * @param {readonly VoteRow[]} rows
 * @param {ReadonlySet<Motion>} own
 * @param {number} present
 */
export function votes(rows, own, present) {
  if (rows.length === 0) {
    return `nothing yet; it takes ${Math.floor(present / 2) + 1} of ${present} here`;
  }
  return rows
    .map(({ motion, yes, needed }) => {
      const you = own.has(motion) ? ', you too' : '';
      return `${MOTION[motion]} ${yes} of ${needed}${you}`;
    })
    .join(';  ');
}

/**
 * Whether a name in a spread is what was right, whatever its verdict: under strict spelling a right name can
 * be misspelt and wrong.
 * @param {Reveal} reveal
 * @param {string} name
 */
export function isRight(reveal, name) {
  return reveal.task === 'movement'
    ? (reveal.movements ?? []).includes(name)
    : reveal.answer.name === name;
}
