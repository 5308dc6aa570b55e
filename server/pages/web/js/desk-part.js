// A part of the desk that is made anew only where what it is made of has changed, so that focus, scroll and
// what was opened in it stay.
//
//   const update = part(node);
//   update([reveal, shown], () => [answerOf(reveal), …]);   // at each draw

/** @import { Child } from './dom.js' */

import { fill } from './dom.js';

/**
 * @param {Element} node
 * @returns {(of: readonly unknown[], make: () => Child) => void}
 */
export function part(node) {
  /** @type {readonly unknown[] | null} */
  let before = null;
  return (of, make) => {
    const same = before?.length === of.length && of.every((value, at) => Object.is(value, before?.[at]));
    if (!same) {
      before = [...of];
      fill(node, make());
    }
  };
}
