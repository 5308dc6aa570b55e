// The state of the desk's page: what the instructor's acts and the server's messages change.

/**
 * @import { ErrorCode, FromInstructor, Hello, ToInstructor } from './wire.js'
 * @import { Standing } from './live.js'
 * @import { Hand } from './desk-model.js'
 */

import { frame } from './desk-frame.js';
import { frontView, stoppedView } from './desk-front.js';
import { handView } from './desk-hand.js';
import { forget, kept, keep, keepShown, shownHere } from './desk-kept.js';
import { hear, inHand, next } from './desk-model.js';
import { openView } from './desk-open.js';
import { byId, fill } from './dom.js';
import { connect } from './live.js';
import { sentence } from './words.js';
import { Voice } from './voice.js';

/**
 * What is shown. `blame` shows a fault at the field that it is about.
 * @typedef {{ node: HTMLElement, title: string, update?: () => void, blame?: (fault: Fault) => void }} View
 */

/** What was wrong with what was asked for. @typedef {{ field: string, text: string }} Fault */

/** @typedef {'front' | 'open' | 'calling' | 'hand' | 'stopped'} Screen */

/** A short notice stands long enough to read two lines twice, in milliseconds. */
const NOTICE_MS = 10_000;
/** A second press within this time is a slip of the finger, in milliseconds. */
const FRESH_MS = 700;

/** The page's state, and what its views may ask for. */
export class App extends Voice {
  /** @type {Screen} */
  screen = 'front';
  /** @type {Standing} */
  standing = { kind: 'trying' };
  /** @type {Hand | null} */
  hand = null;
  /** The host's key, or that of one review. Kept for this tab alone. */
  key = kept().key;
  /** Whether the page shows what the class must not see. */
  shown = shownHere();
  /** A short notice. @type {{ text: string, until: number } | null} */
  noticed = null;
  /** Why nothing more comes. @type {{ said: string }} */
  stop = { said: '' };
  /** Views are kept, so that what was filled in is there again. @type {Map<Screen, View>} */
  #views = new Map();
  /** @type {Screen | null} */
  #drawn = null;
  /** The screen to go back to if the server refuses. @type {'front' | 'open'} */
  #from = 'front';
  /** @type {ReturnType<typeof connect<'instructor'>> | null} */
  #live = null;

  /** Back to the review that this tab had in hand, or to the form for the key. */
  begin() {
    const { key, word } = kept();
    if (key && word) {
      this.#call({ type: 'conduct', word, key }, 'front');
    } else {
      this.draw();
    }
  }

  /** Whether messages get through. */
  get up() {
    return this.standing.kind === 'up';
  }

  /** The review in hand, on screens that have one. */
  get held() {
    if (!this.hand) {
      throw new Error('This screen has a review in hand.');
    }
    return this.hand;
  }

  /**
   * Goes to another screen by the person's own act, so the focus goes there too.
   * @param {Screen} screen
   * @param {Fault} [fault]
   */
  go(screen, fault) {
    this.screen = screen;
    this.draw();
    if (fault) {
      this.#views.get(screen)?.blame?.(fault);
    }
    const at = byId('main').querySelector('[aria-invalid="true"]') ?? byId('main').querySelector('h1');
    if (at instanceof HTMLElement) {
      at.focus();
    }
  }

  /**
   * Takes a review in hand.
   * @param {string} word Its join word; empty for the only one.
   */
  conduct(word) {
    this.#call({ type: 'conduct', word: word || null, key: this.key }, 'front');
  }

  /**
   * Opens another review.
   * @param {Extract<Hello, { type: 'open' }>} hello
   */
  open(hello) {
    this.#call(hello, 'open');
  }

  /** The next step, unless one is on its way or the last one is too fresh to have been read. */
  step() {
    const hand = this.held;
    if (hand.review.stage.phase === 'ended') {
      this.another();
      return;
    }
    const { step } = next(hand);
    if (hand.pending || !step || performance.now() < hand.since + FRESH_MS) {
      return;
    }
    hand.pending = this.say(step);
    this.draw();
  }

  /**
   * Says something to the server.
   * @param {FromInstructor} message
   * @returns {boolean}
   */
  say(message) {
    const said = this.up && this.#live?.say(message) === true;
    if (!said) {
      this.notice('There is no connection; that was not done.');
    }
    return said;
  }

  /** Opens another review, once this one is over. */
  another() {
    this.#drop();
    keep({ key: this.key, word: '' });
    this.go('open');
  }

  /** Leaves the desk and forgets the key; the review goes on. */
  leave() {
    this.#drop();
    this.key = '';
    forget();
    this.#views.clear();
    this.#drawn = null;
    this.go('front');
  }

  /** Gives up a call that has not come through. */
  back() {
    this.#drop();
    this.go(this.#from);
  }

  /** Shows or hides what the class must not see. */
  turn() {
    this.shown = !this.shown;
    this.noticed = this.shown ? this.noticed : null;
    keepShown(this.shown);
    this.draw();
  }

  /**
   * Shows a sentence for a while, and reads it out.
   * @param {string} text
   */
  notice(text) {
    this.noticed = { text, until: performance.now() + NOTICE_MS };
    this.read(text);
    this.draw();
  }

  /** Draws what there is. */
  draw() {
    let view = this.#views.get(this.screen);
    if (!view) {
      view = this.#viewOf();
      this.#views.set(this.screen, view);
    }
    if (this.#drawn !== this.screen) {
      this.#drawn = this.screen;
      document.title = `${view.title} – Myonym`;
      fill(byId('main'), view.node);
    }
    view.update?.();
    frame(this);
  }

  /** @returns {View} */
  #viewOf() {
    switch (this.screen) {
      case 'front':
        return frontView(this);
      case 'open':
        return openView(this);
      case 'calling':
      case 'stopped':
        return stoppedView(this);
      case 'hand':
        return handView(this);
    }
  }

  /**
   * @param {Hello} hello
   * @param {'front' | 'open'} from
   */
  #call(hello, from) {
    this.#drop();
    this.#from = from;
    this.go('calling');
    this.#live = connect({
      role: 'instructor',
      hello,
      hears: (message) => this.#heard(message),
      stands: (standing) => this.#stands(standing),
    });
  }

  /** Drops the connection and the review. */
  #drop() {
    this.#live?.close();
    this.#live = null;
    this.hand = null;
    this.standing = { kind: 'trying' };
    for (const screen of /** @type {const} */ (['hand', 'calling', 'stopped'])) {
      this.#views.delete(screen);
    }
  }

  /** @param {ToInstructor} message */
  #heard(message) {
    if (message.type === 'conducting') {
      const first = this.hand === null;
      this.hand = inHand(message, this.hand, location.origin);
      keep({ key: this.key, word: message.review.word });
      if (first) {
        this.go('hand');
      }
    } else if (this.hand) {
      const told = hear(this.hand, message);
      if (told) {
        this.notice(told);
      }
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
      this.#closed(standing);
    }
    this.draw();
  }

  /** @param {Extract<Standing, { kind: 'closed' }>} end */
  #closed(end) {
    if (end.why === 'refused') {
      // The lines of a text begin with its name, and stay as they are.
      this.#refused(end.code, end.code === 'bad_field' ? end.message : sentence(end.message));
    } else if (this.hand?.review.stage.phase !== 'ended') {
      const reason = end.why === 'policy' && end.message ? ` It says: ${sentence(end.message)}` : '';
      this.stop = { said: `The server has closed the connection.${reason}` };
      this.go('stopped');
    }
  }

  /**
   * Back to the form, where it can be put right.
   * @param {ErrorCode} code
   * @param {string} text
   */
  #refused(code, text) {
    const from = this.#from;
    this.#drop();
    keep({ key: this.key, word: '' });
    if (code === 'not_allowed' || code === 'slow_down') {
      this.go('front', { field: 'key', text });
    } else if (code === 'no_such_review') {
      this.go('front', { field: 'word', text });
    } else if (code === 'bad_field') {
      this.go(from, { field: from === 'front' ? 'key' : 'settings', text });
    } else {
      this.stop = { said: text };
      this.go('stopped');
    }
  }
}
