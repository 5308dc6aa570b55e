// The order of muscles on the desk's map of confusions.

import assert from 'node:assert/strict';
import { test } from 'node:test';

import { inOrder } from '../../../server/pages/web/js/desk-order.js';

/**
 * @param {string} asked
 * @param {string} said
 * @param {number} count
 */
function cell(asked, said, count) {
  return { asked, said, count, of: 20 };
}

test('neighbours are those that are confused, in whatever order the cells come', () => {
  const cells = [
    cell('teres minor', 'teres major', 9),
    cell('infraspinatus', 'teres minor', 5),
    cell('supraspinatus', 'infraspinatus', 4),
    cell('rhomboid major', 'rhomboid minor', 8),
    cell('gracilis', 'sartorius', 1),
  ];
  for (const given of [cells, [...cells].reverse(), [...cells.slice(2), ...cells.slice(0, 2)]]) {
    const order = inOrder(given);
    assert.equal(new Set(order).size, order.length, 'each muscle once');
    assert.equal(order.length, 8);
    // These confusions form three lines without a fork, so a perfect order exists and each is adjacent.
    for (const { asked, said } of cells) {
      assert.equal(Math.abs(order.indexOf(asked) - order.indexOf(said)), 1, `${asked} beside ${said}`);
    }
    assert.deepEqual(order, inOrder(cells), 'the order does not depend on that of the cells');
  }
});

test('both directions of a pair count together', () => {
  const cells = [
    cell('a', 'b', 3),
    cell('b', 'a', 3),
    cell('a', 'c', 4),
    cell('a', 'd', 5),
  ];
  const order = inOrder(cells);
  const distance = (/** @type {string} */ name) => Math.abs(order.indexOf('a') - order.indexOf(name));
  assert.equal(distance('b'), 1, '6 of 20 in all is the strongest');
  assert.equal(distance('d'), 1);
  assert.equal(distance('c'), 2, 'an end has two neighbours and no more');
});

test('what is connected stands together, the strongest first', () => {
  // A fork: one centre, four others; and a pair apart, stronger than two of them.
  const cells = [
    cell('centre', 'first', 9),
    cell('centre', 'second', 8),
    cell('centre', 'third', 2),
    cell('centre', 'fourth', 1),
    cell('apart', 'away', 7),
  ];
  const order = inOrder(cells);
  assert.deepEqual(new Set(order.slice(0, 5)), new Set(['centre', 'first', 'second', 'third', 'fourth']));
  assert.deepEqual(inOrder([]), []);
});
