// The connection of a page to the server: says hello, carries messages both ways, notices when the
// network is gone, and comes back by itself to the same seat, review or board. It knows no view and no
// rule of a review.
//
//   const live = connect({
//     role: 'board',                          // or 'student', 'instructor': types the messages
//     hello: { type: 'watch', word },         // the first message; how to come back follows from it
//     hears(message) { … },                   // each message of the server, the welcome first
//     stands(standing) { … },                 // how the connection stands, whenever that changes
//   });
//   live.say({ type: 'next' });               // false if the connection is down: nothing is kept
//   live.check();                             // looks at once whether the connection still stands
//   live.close();                             // for good; nothing is called any more
//
// A welcome (`seated`, `conducting`, `watching`) replaces all that went before; what was said before it
// and not confirmed is the caller's to say again. When the page is seen again after a while, and when the
// device says that its network is back, a second connection is opened beside the first and takes its place: a
// browser hides pings from its pages, so that is the only sure way to know.

/**
 * @import { FromInstructor, FromStudent, Hello, ToBoard, ToInstructor, ToStudent, ErrorCode } from './wire.js'
 */

import { backoff, comeback, fragment, isLast, read, withSeat } from './comeback.js';

/**
 * What each role hears and says.
 * @typedef {{
 *   student: { hears: ToStudent, says: FromStudent },
 *   instructor: { hears: ToInstructor, says: FromInstructor },
 *   board: { hears: ToBoard, says: never },
 * }} Roles
 */

/**
 * Why a connection is not tried again.
 * - `over`: the review is over, or the server has said its last word.
 * - `refused`: the hello was refused; `code` and `message` say why.
 * - `policy`: closed for a breach of the rules, or removed; `message` may be empty.
 * - `seat_taken`: the seat was taken from another page.
 * @typedef {{ why: 'over' | 'seat_taken' }
 *   | { why: 'refused', code: ErrorCode, message: string }
 *   | { why: 'policy', message: string }} Closed
 */

/**
 * How a connection stands.
 * - `trying`: for the first time.
 * - `up`: the server has said welcome.
 * - `lost`: it is gone; `why` is a fragment, `retryAt` the time of the next try by `performance.now`, in
 *   milliseconds, which may be past while a try is under way.
 * - `closed`: gone for good.
 * @typedef {{ kind: 'trying' } | { kind: 'up' } | { kind: 'lost', why: string, retryAt: number }
 *   | ({ kind: 'closed' } & Closed)} Standing
 */

/**
 * @template {keyof Roles} R
 * @typedef {object} Call
 * @property {R} role
 * @property {Hello} hello The first message.
 * @property {(message: Roles[R]['hears']) => void} hears
 * @property {(standing: Standing) => void} stands
 */

/** The subprotocol of both sides. */
const SUBPROTOCOL = 'myonym.v1';
/** Time for a connection and its welcome, in milliseconds. */
const WELCOME_MS = 8_000;
/** Silence after which the server is asked over HTTP whether it is reached, in milliseconds. */
const SILENCE_MS = 15_000;
/** Time for that answer, in milliseconds. */
const HEALTH_MS = 5_000;
/** Something said and nothing heard for so long: the same question. */
const UNANSWERED_MS = 4_000;
/** A page unseen for less than this does not check its connection. */
const GLANCE_MS = 2_000;

/**
 * Opens a connection and keeps it up.
 * @template {keyof Roles} R
 * @param {Call<R>} call
 */
export function connect(call) {
  return new Live(call);
}

/** @template {keyof Roles} R */
class Live {
  /** @type {Call<R>} */
  #call;
  /** @type {Hello} */
  #hello;
  /** @type {WebSocket | null} The one that is heard. */
  #socket = null;
  /** @type {WebSocket | null} One on its way in, to take the other's place. */
  #next = null;
  /** Tries since the last welcome. */
  #tries = 0;
  /** Whether there was ever a welcome. */
  #welcome = false;
  /** Whether the server has said its last word. */
  #last = false;
  #done = false;
  #hidden = 0;
  /** @type {ReturnType<typeof setTimeout> | undefined} */
  #retry;
  /** @type {ReturnType<typeof setTimeout> | undefined} */
  #silence;
  #leave = new AbortController();

  /** @param {Call<R>} call */
  constructor(call) {
    this.#call = call;
    this.#hello = withSeat(call.hello);
    const { signal } = this.#leave;
    document.addEventListener('visibilitychange', () => this.#seen(), { signal });
    addEventListener('online', () => this.check(), { signal });
    addEventListener('offline', () => this.#drop('this device has no network'), { signal });
    // A page kept in the browser's memory comes back with a dead socket.
    addEventListener('pageshow', (event) => event.persisted && this.check(), { signal });
    call.stands({ kind: 'trying' });
    this.#open();
  }

  /** How to come back to the same place; what a page may keep for its next visit. */
  get hello() {
    return this.#hello;
  }

  /**
   * Says something.
   * @param {Roles[R]['says']} message
   * @returns {boolean} Whether it went out; a connection that is down keeps nothing.
   */
  say(message) {
    if (this.#done || this.#socket?.readyState !== WebSocket.OPEN) {
      return false;
    }
    this.#socket.send(JSON.stringify(message));
    this.#listen(UNANSWERED_MS);
    return true;
  }

  /** Looks whether the connection still stands, by a new one that takes its place. */
  check() {
    if (this.#done || this.#last) {
      return;
    }
    clearTimeout(this.#retry);
    if (!this.#next) {
      this.#open();
    }
  }

  /** Closes for good. */
  close() {
    this.#done = true;
    this.#leave.abort();
    clearTimeout(this.#retry);
    clearTimeout(this.#silence);
    this.#next?.close(1000);
    this.#socket?.close(1000);
    this.#next = null;
    this.#socket = null;
  }

  #seen() {
    if (document.hidden) {
      this.#hidden = performance.now();
    } else if (performance.now() - this.#hidden > GLANCE_MS) {
      this.check();
    }
  }

  #open() {
    const scheme = location.protocol === 'https:' ? 'wss' : 'ws';
    const socket = new WebSocket(`${scheme}://${location.host}/live`, SUBPROTOCOL);
    this.#next = socket;
    const late = setTimeout(() => this.#gone(socket, 'no answer in time'), WELCOME_MS);
    socket.onopen = () => socket.send(JSON.stringify(this.#hello));
    socket.onmessage = (event) => {
      const message = read(event.data);
      if (!this.#done && message) {
        clearTimeout(late);
        this.#heard(socket, message);
      }
    };
    socket.onclose = (event) => {
      clearTimeout(late);
      this.#closed(socket, event);
    };
  }

  /**
   * @param {WebSocket} socket
   * @param {Roles[R]['hears']} message
   */
  #heard(socket, message) {
    if (socket === this.#next) {
      if (message.type === 'error') {
        if (message.code === 'slow_down' && this.#welcome) {
          // Others behind the same address typed wrong words; the seat is still ours.
          this.#gone(socket, 'the server asks to wait');
          return;
        }
        this.#end({ why: 'refused', code: message.code, message: message.message });
        return;
      }
      this.#welcomed(socket);
    } else if (socket !== this.#socket) {
      return;
    }
    this.#hello = comeback(this.#hello, message);
    this.#last ||= isLast(message);
    this.#listen(SILENCE_MS);
    this.#call.hears(message);
  }

  /** @param {WebSocket} socket */
  #welcomed(socket) {
    const before = this.#socket;
    this.#socket = socket;
    this.#next = null;
    this.#tries = 0;
    this.#welcome = true;
    before?.close(1000);
    this.#call.stands({ kind: 'up' });
  }

  /**
   * @param {WebSocket} socket
   * @param {CloseEvent} event
   */
  #closed(socket, event) {
    if (this.#done || (socket !== this.#socket && socket !== this.#next)) {
      return;
    }
    // The server gives the seat to the newer connection before that one has been welcomed.
    if (socket === this.#socket && this.#next) {
      this.#socket = null;
      return;
    }
    if (event.code === 1000 || this.#last) {
      this.#end({ why: 'over' });
    } else if (event.code === 4001) {
      this.#end({ why: 'seat_taken' });
    } else if (event.code === 1008) {
      this.#end({ why: 'policy', message: event.reason });
    } else {
      this.#gone(socket, fragment(event.code));
    }
  }

  /** @param {string} why */
  #drop(why) {
    const socket = this.#next ?? this.#socket;
    if (socket && !this.#done && !this.#last) {
      this.#gone(socket, why);
    }
  }

  /**
   * @param {WebSocket} socket
   * @param {string} why
   */
  #gone(socket, why) {
    if (this.#done || (socket !== this.#socket && socket !== this.#next)) {
      return;
    }
    const old = [this.#socket, this.#next];
    this.#socket = null;
    this.#next = null;
    old.forEach((one) => one?.close());
    clearTimeout(this.#silence);
    clearTimeout(this.#retry);
    this.#tries += 1;
    const wait = backoff(this.#tries, Math.random());
    this.#call.stands({ kind: 'lost', why, retryAt: performance.now() + wait });
    this.#retry = setTimeout(() => this.#open(), wait);
  }

  /** @param {Closed} closed */
  #end(closed) {
    this.close();
    this.#call.stands({ kind: 'closed', ...closed });
  }

  /**
   * If nothing is heard for so long, asks whether the server is reached at all.
   * @param {number} wait
   */
  #listen(wait) {
    clearTimeout(this.#silence);
    this.#silence = setTimeout(() => this.#ask(), wait);
  }

  async #ask() {
    const socket = this.#socket;
    const giveUp = new AbortController();
    const late = setTimeout(() => giveUp.abort(), HEALTH_MS);
    const reached = await fetch('/healthz', { cache: 'no-store', signal: giveUp.signal }).then(
      (answer) => answer.ok,
      () => false,
    );
    clearTimeout(late);
    if (socket === null || socket !== this.#socket) {
      return;
    }
    if (reached) {
      this.#listen(SILENCE_MS);
    } else {
      this.#gone(socket, 'nothing heard for too long');
    }
  }
}
