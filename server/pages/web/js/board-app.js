// The state of the board: what the server tells of one review, and what the person before the screen chose.

/**
 * @import { Here, ToBoard, WeakSpots } from './wire.js'
 * @import { Standing } from './live.js'
 * @import { Review } from './state.js'
 */

import { closed } from './board-still.js';
import { keyOf, viewOf } from './board-views.js';
import { byId, fill } from './dom.js';
import { connect } from './live.js';
import { begun, follow } from './state.js';
import { Voice } from './voice.js';

/**
 * What is shown: a node, its title, and what to do when anything changed.
 * @typedef {{ node: Node, title: string, update?: () => void }} View
 */

/**
 * A review as the room follows it. `answered` and `could` are of the open round: answers recorded, and who
 * could give one.
 * @typedef {object} Room
 * @property {Review} review
 * @property {string} address Host and port at which students reach the server.
 * @property {readonly string[]} others Further addresses.
 * @property {boolean} secure
 * @property {Here} here
 * @property {number} answered
 * @property {number | null} could
 * @property {WeakSpots | null} weakSpots
 */

/**
 * @typedef {{ kind: 'form', typed: string, fault: string } | { kind: 'connecting', word: string }
 *   | { kind: 'room' } | { kind: 'stopped', title: string, said: readonly string[] }} Screen
 */

/** Where the choice to hide the standings is kept. */
const HIDDEN = 'myonym.board.standings';

/** The page's state, and what its views may ask for. */
export class App extends Voice {
  /** @type {Screen} */
  screen = { kind: 'form', typed: '', fault: '' };
  /** @type {Standing} */
  standing = { kind: 'trying' };
  /** @type {Room | null} */
  room = null;
  /** Whether the standings are shown where there are any. */
  listsStandings = kept(HIDDEN) !== 'hidden';
  /** The join word that is followed. */
  word = '';
  /** @type {ReturnType<typeof connect<'board'>> | null} */
  #live = null;
  /** @type {{ key: string, view: View } | null} */
  #shown = null;
  #frame;

  /** @param {(app: App) => () => void} frame What stands round the view; gives what brings it up to date. */
  constructor(frame) {
    super();
    this.#frame = frame(this);
  }

  /** The room, on the screens that have one. */
  get seen() {
    if (!this.room) {
      throw new Error('This screen follows a review.');
    }
    return this.room;
  }

  /**
   * Follows a review.
   * @param {string} word
   */
  watch(word) {
    this.#live?.close();
    this.room = null;
    this.word = word;
    this.standing = { kind: 'trying' };
    this.screen = { kind: 'connecting', word };
    this.draw();
    this.#live = connect({
      role: 'board',
      hello: { type: 'watch', word },
      hears: (message) => this.#heard(message),
      stands: (standing) => this.#stands(standing),
    });
  }

  /**
   * Asks for a join word.
   * @param {string} typed What stands in the field.
   * @param {string} fault What is wrong with it: a sentence, or `none`, or `bad` for what is no join word.
   */
  ask(typed, fault) {
    const said = { none: '', bad: 'A join word is two bone names, such as radius-talus.' }[fault] ?? fault;
    this.#live?.close();
    this.room = null;
    this.screen = { kind: 'form', typed, fault: said };
    this.draw();
    document.getElementById('word')?.focus();
  }

  /**
   * Nothing more comes.
   * @param {string} title
   * @param {readonly string[]} said
   */
  stop(title, said) {
    this.room = null;
    this.screen = { kind: 'stopped', title, said };
    this.read(title);
    this.draw();
  }

  /** Shows the standings, or hides them; the browser remembers. */
  turnStandings() {
    this.listsStandings = !this.listsStandings;
    keep(HIDDEN, this.listsStandings ? 'shown' : 'hidden');
    this.draw();
  }

  /** Draws what there is. */
  draw() {
    const key = keyOf(this);
    if (key !== this.#shown?.key) {
      const view = viewOf(this);
      this.#shown = { key, view };
      document.title = `${view.title} – Myonym`;
      fill(byId('main'), view.node);
      scrollTo(0, 0);
    }
    this.#shown?.view.update?.();
    this.#frame();
  }

  /** @param {ToBoard} message */
  #heard(message) {
    if (message.type === 'watching') {
      this.room = entered(message);
      this.screen = { kind: 'room' };
      history.replaceState(null, '', `?word=${message.review.word}`);
    } else if (this.room) {
      take(this.room, message);
    }
    this.draw();
  }

  /** @param {Standing} standing */
  #stands(standing) {
    if (standing.kind === 'lost' && this.standing.kind !== 'lost') {
      this.readAtOnce('No connection. Trying again.');
    } else if (standing.kind === 'up') {
      this.readAtOnce('');
    }
    this.standing = standing;
    if (standing.kind === 'closed') {
      closed(this, standing);
    }
    this.draw();
  }
}

/**
 * @param {Extract<ToBoard, { type: 'watching' }>} message
 * @returns {Room}
 */
function entered(message) {
  const { addresses, secure, here, answered } = message;
  // One at which this page was reached is surely good.
  const address = addresses.includes(location.host) ? location.host : (addresses[0] ?? location.host);
  const others = addresses.filter((other) => other !== address);
  const weakSpots = message.weak_spots ?? null;
  return { review: begun(message), address, others, secure, here, answered, could: null, weakSpots };
}

/**
 * @param {Room} room
 * @param {ToBoard} message
 */
function take(room, message) {
  switch (message.type) {
    case 'here':
      room.here = message;
      break;
    case 'answers':
      room.answered = message.answered;
      room.could = message.here;
      break;
    case 'weak_spots':
      room.weakSpots = message;
      break;
    case 'round_opened':
      room.answered = 0;
      room.could = null;
      follow(room.review, message);
      break;
    default:
      follow(room.review, message);
  }
}

/** @param {string} name */
function kept(name) {
  try {
    return localStorage.getItem(name);
  } catch {
    // A browser may forbid it; then it is not remembered.
    return null;
  }
}

/**
 * @param {string} name
 * @param {string} value
 */
function keep(name, value) {
  try {
    localStorage.setItem(name, value);
  } catch {
    // As above.
  }
}
