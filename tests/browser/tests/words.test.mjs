// Numbers, words and waits as the pages have them: the same as the terminal's, whose own tests hold the values
// (client-tui/src/words.rs, backoff.rs).

import assert from 'node:assert/strict';
import { test } from 'node:test';

import { Watch, left, limitOf } from '../../../server/pages/web/js/clock.js';
import { backoff } from '../../../server/pages/web/js/comeback.js';
import * as words from '../../../server/pages/web/js/words.js';

test('numbers are said as people say them', () => {
  assert.deepEqual([0, 26_001, 119_000, 125_000].map(words.seconds), ['0 s', '27 s', '119 s', '2:05']);
  assert.deepEqual([87.25, 0, -0.001, 0.31].map(words.points), ['87', '0', '0', '0.3']);
  assert.equal(words.points(-62.75), '−63');
  assert.equal(words.pointsTo(251.25, 1), '251.2');
  assert.equal(words.pointsTo(-0.04, 1), '0.0');
  assert.equal(words.somePoints(1.17), '1 point');
  assert.equal(words.somePoints(0), '0 points');
  const standing = (/** @type {number} */ total, /** @type {number} */ place) =>
    words.standing({ total, place, of: 24 });
  assert.equal(standing(0, 1), '0 points in all.');
  assert.equal(standing(0, 2), '0 points in all, place 2 of 24.');
  assert.equal(standing(66.5, 1), '66 points in all, place 1 of 24.');
  assert.deepEqual([1, 4, 9, 14, 255].map(words.roman), ['I', 'IV', 'IX', 'XIV', 'CCLV']);
  assert.equal(words.allowance({ kind: 'stretched', percent: 150 }), '1.5 ×');
  assert.equal(words.listed(['a', 'b', 'c'], 'or'), 'a, b or c');
  assert.equal(words.sentence('émile is away'), 'Émile is away.');
  assert.equal(words.sentence('Done.'), 'Done.');
});

test('the longest waits are those of the rule, and jitter only shortens them', () => {
  const ceilings = [1, 2, 3, 4, 5, 6, 400].map((tries) => backoff(tries, 1));
  assert.deepEqual(ceilings, [1000, 1000, 2000, 4000, 8000, 10_000, 10_000]);
  assert.equal(backoff(5, 0), 0);
});

test('time runs from the first sight and not in pauses', () => {
  let now = 1000;
  const watch = new Watch(500, false, () => now);
  now = 3000;
  assert.equal(watch.elapsed(), 2500);
  watch.halt();
  now = 9000;
  assert.equal(watch.elapsed(), 2500);
  watch.goOn();
  watch.goOn();
  now = 9500;
  assert.equal(watch.elapsed(), 3000);
  assert.equal(left(watch.elapsed(), limitOf({ kind: 'stretched', percent: 150 }, 4000)), 3000);
  assert.equal(left(9000, 4000), 0);
  assert.equal(left(1, limitOf({ kind: 'untimed' }, 4000)), null);
});
