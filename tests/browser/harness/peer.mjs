// A client of the socket in the test itself: an instructor, a board, or another student.

import { WebSocket } from 'ws';

/** @import { FromInstructor, FromStudent, Hello } from '../../../server/pages/web/js/wire.js' */

/** A guard against hanging, not a measurement, in milliseconds. */
export const DEADLINE = 20_000;

const GREETINGS = new Set(['seated', 'conducting', 'watching']);

/** One connection, with all that it has heard. */
export class Peer {
  /** The welcome. @type {any} */
  greeting = null;
  /** What was heard and not waited for yet. @type {any[]} */
  heard = [];
  /** @type {Set<() => void>} */
  #waiting = new Set();
  /** @type {WebSocket} */
  #socket;

  /** @param {WebSocket} socket */
  constructor(socket) {
    this.#socket = socket;
    socket.on('message', (data) => {
      this.heard.push(JSON.parse(String(data)));
      this.#waiting.forEach((look) => look());
    });
  }

  /**
   * Connects and says hello; a word of greeting has come when it is done.
   * @param {string} address
   * @param {Hello} hello
   */
  static async meet(address, hello) {
    const socket = new WebSocket(`ws://${address}/live`, 'myonym.v1');
    const peer = new Peer(socket);
    await new Promise((resolve, reject) => {
      socket.once('open', resolve);
      socket.once('error', reject);
    });
    socket.send(JSON.stringify(hello));
    peer.greeting = await peer.until((message) => GREETINGS.has(message.type));
    return peer;
  }

  /** @param {FromInstructor | FromStudent} message */
  say(message) {
    this.#socket.send(JSON.stringify(message));
  }

  /**
   * Waits for the next message that fits, those already heard but not yet waited for among them, and takes
   * all up to it.
   * @param {string | ((message: any) => boolean)} wanted Its type, or what it must be like.
   * @returns {Promise<any>}
   */
  until(wanted) {
    const fits = typeof wanted === 'string' ? (/** @type {any} */ m) => m.type === wanted : wanted;
    return new Promise((resolve, reject) => {
      const seen = () => this.heard.map((message) => message.type).join(', ');
      const late = setTimeout(() => {
        this.#waiting.delete(look);
        reject(new Error(`${wanted} never came; heard: ${seen()}`));
      }, DEADLINE);
      const look = () => {
        const at = this.heard.findIndex(fits);
        if (at >= 0) {
          const [found] = this.heard.splice(0, at + 1).slice(-1);
          this.#waiting.delete(look);
          clearTimeout(late);
          resolve(found);
        }
      };
      this.#waiting.add(look);
      look();
    });
  }

  close() {
    this.#socket.close();
  }
}

/**
 * Opens a review of these muscles, asked in this order, and conducts it.
 * @param {import('./host.mjs').Host} host
 * @param {{ plan?: string, settings?: object }} [how] The text of a plan, or settings.
 * @returns {Promise<{ instructor: Peer, word: string }>}
 */
export async function openReview(host, { plan, settings = {} } = {}) {
  const hello = { type: 'open', key: host.key, settings: /** @type {any} */ (settings), plan: plan ?? null };
  const instructor = await Peer.meet(host.address, /** @type {Hello} */ (hello));
  return { instructor, word: instructor.greeting.review.word };
}

/**
 * The text of a plan: rounds that ask for these muscles.
 * @param {{ muscle: string, task?: string, beside?: string, why?: string }[]} rounds
 * @param {string} [head] Further lines, such as `limit = "20s"`.
 */
export function planOf(rounds, head = '') {
  const round = (/** @type {Record<string, string>} */ lines) =>
    ['[[round]]', ...Object.entries(lines).map(([key, value]) => `${key} = "${value}"`)].join('\n');
  return `list = "shoulder"\n${head}\n${rounds.map(round).join('\n')}\n`;
}
