// The map of confusions against what was planted, on a phone and on a laptop.

import assert from 'node:assert/strict';
import { test } from 'node:test';

import { LAPTOP, PHONE, inspectAll, isSound } from '../harness/browser.mjs';
import { answer, atDesk, student, takeInHand } from '../harness/desk.mjs';
import { openReview, planOf } from '../harness/peer.mjs';
import { browser, host } from '../harness/setting.mjs';

/** What each of four students answers, muscle by muscle. @type {Record<string, string[]>} */
const PLANTED = {
  'teres minor': ['teres major', 'teres major', 'teres major', 'infraspinatus'],
  'teres major': ['teres major', 'teres major', 'teres major', 'latissimus dorsi'],
  infraspinatus: ['supraspinatus', 'supraspinatus', 'infraspinatus', 'infraspinatus'],
  'rhomboid major': ['rhomboid minor', 'rhomboid minor', 'rhomboid minor', 'rhomboid minor'],
  'rhomboid minor': ['levator scapulae', 'rhomboid minor', 'rhomboid minor', 'rhomboid minor'],
  subclavius: ['pectoralis minor', 'subclavius', 'subclavius', 'subclavius'],
  coracobrachialis: ['biceps brachii', 'biceps brachii', 'coracobrachialis', 'coracobrachialis'],
};

test('every planted confusion is in its cell, and nothing else', async () => {
  const muscles = Object.keys(PLANTED);
  const plan = planOf(muscles.map((muscle) => ({ muscle })), 'limit = "10m"');
  const { instructor, word } = await openReview(host, { plan });
  const names = ['Ana', 'Bo', 'Cleo', 'Dov'];
  const peers = await Promise.all(names.map((name) => student(host, word, name)));
  const laptop = await atDesk(browser, host, { options: LAPTOP });
  await takeInHand(laptop, word);
  for (const [at, muscle] of muscles.entries()) {
    instructor.say({ type: at === 0 ? 'start' : 'next' });
    await Promise.all(peers.map((peer, who) => answer(peer, at + 1, PLANTED[muscle]?.[who] ?? '')));
    await instructor.until('round_closed');
    instructor.say({ type: 'reveal' });
    await instructor.until('weak_spots');
    // It grows as the review goes.
    await laptop.waitForFunction((rows) => document.querySelectorAll('.map tbody tr').length === rows, at + 1);
  }
  assert.deepEqual(await cells(laptop), planted());
  await inspectAll(laptop, 'desk-map');
  const heads = await laptop.locator('.map tbody th').allTextContents();
  const place = (/** @type {string} */ name) => heads.findIndex((head) => head.startsWith(`${name} `));
  assert.equal(Math.abs(place('teres minor') - place('teres major')), 1, 'what is confused stands together');
  assert.equal(Math.abs(place('rhomboid major') - place('rhomboid minor')), 1);

  const phone = await atDesk(browser, host, { options: PHONE });
  await takeInHand(phone, word);
  await phone.locator('.map').waitFor();
  assert.deepEqual(await cells(phone), planted());
  await inspectAll(phone, 'desk-map-phone');
  [laptop, phone].forEach(isSound);
  [...peers, instructor].forEach((peer) => peer.close());
  await laptop.context().close();
  await phone.context().close();
});

/** Asked, answered, and what the cell must say. */
function planted() {
  const found = Object.entries(PLANTED).flatMap(([asked, answers]) => {
    const wrong = new Set(answers.filter((said) => said !== asked));
    return [...wrong].map((said) => {
      const count = answers.filter((one) => one === said).length;
      return `${asked} → ${said}: ${count} ${count * 25} %`;
    });
  });
  return found.sort();
}

/**
 * The cells of the map that say something.
 * @param {import('playwright-core').Page} page
 */
async function cells(page) {
  const found = await page.evaluate(() => {
    const [table] = document.querySelectorAll('table.map');
    const [head, ...rows] = table instanceof HTMLTableElement ? table.rows : [];
    const columns = [...(head?.cells ?? [])].map((cell) => cell.textContent);
    return rows.flatMap((row) => {
      const [asked, ...others] = [...row.cells];
      const name = asked?.textContent?.replace(/ of 4$/, '');
      return others.flatMap((cell, at) =>
        cell.textContent ? [`${name} → ${columns[at + 1]}: ${cell.textContent}`] : [],
      );
    });
  });
  return found.sort();
}
