// Time, by a clock that only goes forward (performance.now, milliseconds).
//
//   const watch = new Watch(elapsed_ms, paused);   // of round_opened (0, false) or of a moment
//   watch.halt(); watch.goOn();                    // paused, resumed
//   watch.elapsed();                               // ms run so far, less pauses
//   left(watch.elapsed(), limitOf(time, limit_ms)) // ms left; null without a limit
//   const stop = everyMoment(draw);                // four times a second while the page is seen

/** @import { TimeAllowance } from './wire.js' */

/** Measures the time of a round, less pauses. */
export class Watch {
  /** @type {number} */
  #before;
  /** @type {number | null} */
  #since;

  /**
   * @param {number} before Milliseconds that had run already.
   * @param {boolean} halted Whether it stands still.
   * @param {() => number} [now] The clock.
   */
  constructor(before, halted, now = () => performance.now()) {
    this.now = now;
    this.#before = before;
    this.#since = halted ? null : now();
  }

  /** Stops the time. */
  halt() {
    this.#before = this.elapsed();
    this.#since = null;
  }

  /** Lets it run again. */
  goOn() {
    this.#since ??= this.now();
  }

  /** Whether it stands still. */
  get halted() {
    return this.#since === null;
  }

  /** Milliseconds run so far. */
  elapsed() {
    return this.#before + (this.#since === null ? 0 : this.now() - this.#since);
  }
}

/**
 * The limit of one student where the class has `base`, in milliseconds; `null` is none.
 * @param {TimeAllowance} time
 * @param {number} base
 * @returns {number | null}
 */
export function limitOf(time, base) {
  switch (time.kind) {
    case 'standard':
      return base;
    case 'stretched':
      return Math.floor((base * time.percent) / 100);
    case 'untimed':
      return null;
  }
}

/**
 * What is left of a limit, never below zero; `null` without a limit. Milliseconds.
 * @param {number} elapsed
 * @param {number | null} limit
 */
export function left(elapsed, limit) {
  return limit === null ? null : Math.max(0, limit - elapsed);
}

/**
 * Calls back four times a second while the page is seen, and at once when it is seen again.
 * @param {() => void} draw
 * @returns {() => void} Stops it.
 */
export function everyMoment(draw) {
  const seen = () => {
    if (!document.hidden) {
      draw();
    }
  };
  const timer = setInterval(seen, MOMENT_MS);
  document.addEventListener('visibilitychange', seen);
  return () => {
    clearInterval(timer);
    document.removeEventListener('visibilitychange', seen);
  };
}

const MOMENT_MS = 250;
