// The state of the student's page: what the person's acts and the server's messages change.

/**
 * @import { FromStudent, Hello, ReviewSettings, ToStudent } from './wire.js'
 * @import { Standing } from './live.js'
 * @import { Sitting } from './sitting.js'
 */

import { byId, fill } from './dom.js';
import { randomId } from './ids.js';
import { connect } from './live.js';
import { attemptIn, forgetSeat, keepAttempt, keepSeat, person, seatIn } from './seat.js';
import { attemptOf, hear, sat } from './sitting.js';
import { closed } from './student-end.js';
import { keyOf, viewOf } from './student-views.js';
import { Voice } from './voice.js';

/**
 * What is shown: a node, its title, and what to do when anything changed.
 * @typedef {{ node: Node, title: string, update?: () => void }} View
 */

/**
 * What is filled in on the form.
 * @typedef {{ word: string, name: string, listed: boolean, group: string }} Entry
 */
/** A field of a form, and what is wrong with it. @typedef {{ field: string, text: string }} Fault */
/**
 * Why nothing more comes, and what can be done about it.
 * @typedef {{ title: string, said: string[], act?: { label: string, does: () => void } }} Stop
 */

/**
 * @typedef {{ kind: 'form', fault?: Fault } | { kind: 'gather', fault?: Fault } | { kind: 'connecting', word: string | null }
 *   | { kind: 'seated' } | { kind: 'stopped', stop: Stop }} Screen
 */

/** A short notice stands long enough to read two lines twice, in milliseconds. */
const NOTICE_MS = 10_000;

/** The page's state, and what its views may ask for. */
export class App extends Voice {
  /** @type {Screen} */
  screen = { kind: 'form' };
  /** @type {Standing} */
  standing = { kind: 'trying' };
  /** @type {Sitting | null} */
  sitting = null;
  /** What is filled in. @type {Entry} */
  entry = { word: '', name: '', listed: false, group: '' };
  /** @type {ReturnType<typeof connect<'student'>> | null} */
  #live = null;
  /** Whether a seat that this device kept is being returned to. */
  returns = false;
  /** Whether the person has left. */
  left = false;
  /** A short notice. @type {{ text: string, until: number } | null} */
  noticed = null;
  /** @type {{ key: string, view: View } | null} */
  #shown = null;
  /** Whether the answer field had the focus when it last went away. */
  #answering = false;
  #frame;

  /** @param {(app: App) => () => void} frame What stands round the view; gives what brings it up to date. */
  constructor(frame) {
    super();
    this.#frame = frame(this);
  }

  /** Whether messages get through. */
  get up() {
    return this.standing.kind === 'up';
  }

  /** The sitting, on screens that have one. */
  get seated() {
    if (!this.sitting) {
      throw new Error('This screen has a seat.');
    }
    return this.sitting;
  }

  /**
   * Goes to another screen by the person's own act, so the focus goes there too.
   * @param {Screen} screen
   */
  go(screen) {
    this.screen = screen;
    this.draw();
    const main = byId('main');
    const target = main.querySelector('[aria-invalid="true"]') ?? main.querySelector('h1');
    /** @type {HTMLElement | null} */ (target)?.focus();
  }

  /**
   * Joins a review, or returns to the seat that this device has in it under that name.
   * @param {Entry} entry
   */
  join(entry) {
    this.entry = entry;
    const kept = seatIn(entry.word);
    if (kept && kept.name === entry.name) {
      this.comeBack(entry.word);
      return;
    }
    const { word, name, group } = entry;
    const hello = { word, name, listed: entry.listed, person: person(), group: group || null };
    this.#call({ type: 'join', ...hello }, word, false);
  }

  /**
   * Returns to the seat that this device keeps.
   * @param {string} word
   */
  comeBack(word) {
    const kept = seatIn(word);
    if (!kept) {
      this.go({ kind: 'form' });
      return;
    }
    this.entry = { ...this.entry, word, name: kept.name };
    this.#call({ type: 'return', word, seat: kept.seat }, word, true);
  }

  /**
   * Opens a study group.
   * @param {Entry} entry
   * @param {ReviewSettings} settings
   */
  gather(entry, settings) {
    this.entry = entry;
    const { name } = entry;
    const hello = { settings, name, listed: entry.listed, person: person() };
    this.#call({ type: 'gather', ...hello }, null, false);
  }

  /**
   * Sends an answer, or keeps it until the connection is back.
   * @param {string} text
   */
  answer(text) {
    const { review } = this.seated;
    if (review.stage.phase !== 'open' || this.seated.own.kind !== 'nothing') {
      return;
    }
    if (review.halted) {
      this.notice('Paused: send it again when it goes on.');
      return;
    }
    const elapsed = Math.round(review.stage.watch.elapsed());
    const attempt = { round: review.stage.round, id: randomId(), text, elapsed };
    this.seated.own = { kind: 'sent', attempt };
    this.seated.ask = null;
    keepAttempt(review.info.word, attempt);
    this.#send();
    this.draw();
  }

  /**
   * Says something else; not beside an answer on its way, since a refusal does not say what it refuses.
   * @param {FromStudent} message
   * @returns {boolean}
   */
  say(message) {
    if (this.sitting?.own.kind === 'sent') {
      this.notice('Your answer is on its way; try again in a moment.');
      return false;
    }
    const said = this.up && this.#live?.say(message) === true;
    if (!said) {
      this.notice('Not now: there is no connection.');
    }
    return said;
  }

  /** Leaves; the seat is kept. */
  leave() {
    this.left = true;
    if (!this.#live?.say({ type: 'leave' })) {
      closed(this, { kind: 'closed', why: 'over' });
      this.hangUp();
    }
  }

  /** Takes another seat than the one that was returned to. */
  anotherSeat() {
    forgetSeat(this.seated.review.info.word);
    this.hangUp();
    this.entry = { ...this.entry, name: '', group: '' };
    this.go({ kind: 'form' });
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
    const key = keyOf(this);
    if (key !== this.#shown?.key) {
      const wasAnswering = document.activeElement?.id === 'answer' || this.#answering;
      const view = viewOf(this);
      this.#shown = { key, view };
      document.title = `${view.title} – Myonym`;
      fill(byId('main'), view.node);
      this.#keepAnswering(wasAnswering);
    }
    this.#shown?.view.update?.();
    this.#frame();
  }

  /** @param {boolean} was */
  #keepAnswering(was) {
    const field = document.getElementById('answer');
    const free = document.activeElement === null || document.activeElement === document.body;
    this.#answering = was && free;
    if (field && this.#answering) {
      field.focus();
    }
  }

  /**
   * @param {Hello} hello
   * @param {string | null} word
   * @param {boolean} returns
   */
  #call(hello, word, returns) {
    this.hangUp();
    this.returns = returns;
    this.left = false;
    this.standing = { kind: 'trying' };
    this.go({ kind: 'connecting', word });
    this.#live = connect({
      role: 'student',
      hello,
      hears: (message) => this.#heard(message),
      stands: (standing) => this.#stands(standing),
    });
  }

  /** Drops the connection and the sitting. */
  hangUp() {
    this.#live?.close();
    this.#live = null;
    this.sitting = null;
    this.standing = { kind: 'trying' };
  }

  /** Drops the connection and shows the form, where everything can be put right. */
  backToForm() {
    this.hangUp();
    this.go({ kind: 'form' });
  }

  /** @param {ToStudent} message */
  #heard(message) {
    if (message.type === 'seated') {
      this.#seatedNow(message);
    } else if (message.type === 'removed') {
      closed(this, { kind: 'closed', why: 'policy', message: '' }, true);
    } else if (this.sitting) {
      const told = hear(this.sitting, message);
      const { own, review } = this.sitting;
      if (own.kind !== 'sent' && (own.kind !== 'taken' || own.recorded)) {
        keepAttempt(review.info.word, null);
      }
      if (told) {
        this.notice(told);
      }
    }
    this.draw();
  }

  /** @param {Extract<ToStudent, { type: 'seated' }>} message */
  #seatedNow(message) {
    const { word } = message.review;
    const first = this.sitting === null;
    this.sitting = sat(message, {
      before: this.sitting,
      kept: (round) => attemptIn(word, round),
      cameBack: this.sitting?.cameBack ?? this.returns,
    });
    const hello = this.#live?.hello;
    const seat = hello && 'seat' in hello ? hello.seat : null;
    if (seat) {
      keepSeat(word, { name: this.entry.name || message.name, seat });
    }
    this.entry = { ...this.entry, word };
    history.replaceState(null, '', `?word=${word}`);
    this.#send();
    if (first) {
      this.go({ kind: 'seated' });
    }
  }

  /** Sends the answer that waits, if one does. */
  #send() {
    const { own } = this.seated;
    const attempt = own.kind === 'sent' ? attemptOf(own) : null;
    if (attempt) {
      const { round, id, text, elapsed } = attempt;
      this.#live?.say({ type: 'answer', round, attempt: id, text, elapsed_ms: elapsed });
    }
  }

  /**
   * Nothing more comes.
   * @param {Stop} stop
   */
  stop(stop) {
    this.screen = { kind: 'stopped', stop };
    this.read(stop.title);
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
