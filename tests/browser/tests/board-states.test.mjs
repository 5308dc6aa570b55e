// States of the board that a review seldom comes to, told to the page by a server that the test plays.

import assert from 'node:assert/strict';
import { readFile } from 'node:fs/promises';
import { test } from 'node:test';

import { isSound, openPage } from '../harness/browser.mjs';
import { HD, inRoom } from '../harness/room.mjs';
import { browser, host } from '../harness/setting.mjs';

/** @import { Page, WebSocketRoute } from 'playwright-core' */
/** @import { ToBoard } from '../../../server/pages/web/js/wire.js' */

/** One example of each message, from the protocol's own tests. @type {ToBoard[]} */
const GOLDEN = JSON.parse(
  await readFile(new URL('../../../server/wire/golden/to_board.json', import.meta.url), 'utf8'),
);

/**
 * The first example of a type.
 * @template {ToBoard['type']} T
 * @param {T} type
 * @returns {Extract<ToBoard, { type: T }>}
 */
function golden(type) {
  const found = GOLDEN.find((message) => message.type === type);
  return /** @type {any} */ (structuredClone(found));
}

/** @typedef {Extract<ToBoard, { type: 'watching' }>} Watching */

/**
 * A board that is welcomed with this.
 * @param {Partial<Watching>} welcome
 * @returns {Promise<{ page: Page, say: (message: ToBoard) => void, route: () => WebSocketRoute }>}
 */
async function watching(welcome) {
  const page = await openPage(browser, `http://${host.address}/board`, HD);
  /** @type {WebSocketRoute | null} */
  let socket = null;
  const route = () => {
    assert.ok(socket, 'the board has called');
    return socket;
  };
  await page.routeWebSocket(/\/live$/, (caller) => {
    socket = caller;
    caller.onMessage(() => caller.send(JSON.stringify({ ...golden('watching'), ...welcome })));
  });
  await page.goto(`http://${host.address}/board?word=radius-talus`);
  await page.getByRole('heading', { level: 1 }).filter({ hasNotText: /^(Board|Connecting)$/ }).waitFor();
  return { page, say: (message) => route().send(JSON.stringify(message)), route };
}

/** @param {Page} page */
async function done(page) {
  isSound(page);
  await page.context().close();
}

test('three hundred students are here', async () => {
  const names = Array.from({ length: 290 }, (_, at) => `Student number ${at + 1}`);
  const addresses = ['192.0.2.7:7645', '198.51.100.23:7645', '[2001:db8::7]:7645'];
  const { page, say } = await watching({ addresses, here: { names, others: 10 } });
  await page.getByText('300 students are here').waitFor();
  await page.getByText('Student number 290').waitFor();
  const shown = await page.locator('.who bdi').count();
  await page.getByText(`and ${300 - shown} others`).waitFor();
  await inRoom(page, 'board-300');
  say({ type: 'here', names: ['Iris'], others: 0 });
  await page.getByText('1 student is here').waitFor();
  say({ type: 'here', names: [], others: 40 });
  await page.getByText('no name is shown').waitFor();
  await inRoom(page, 'board-no-names');
  await done(page);
});

test('every clue is shown, and the time is nearly up', async () => {
  const clues = Array.from({ length: 6 }, (_, at) => ({
    kind: at % 2 ? 'insertion' : 'action',
    text: 'It inserts on the medial lip of the intertubercular sulcus of the humerus, and rotates the arm.',
  }));
  const moment = /** @type {const} */ ({
    phase: 'open', round: 12, of: 18, task: 'contrast', offered: ['levator scapulae', 'rhomboid minor'], given: null,
    example: null, limit_ms: 45_000, elapsed_ms: 36_500, paused: true, clues, clue_count: 6,
  });
  const { page, say } = await watching({ moment: { ...moment, offered: [...moment.offered] } });
  assert.equal(await page.locator('.round li').count(), 6);
  await page.getByText('9 s left').waitFor();
  assert.equal(await page.locator('#urgent').textContent(), '', 'a paused time warns nobody');
  await inRoom(page, 'board-six-clues');
  say({ type: 'resumed', seq: 41, elapsed_ms: 36_500 });
  await page.locator('#urgent').filter({ hasText: /^\d+ seconds left$/ }).waitFor();
  await done(page);
});

test('the server cannot save, and then can', async () => {
  const { page, say } = await watching({});
  say(golden('round_opened'));
  await page.getByRole('heading', { name: 'Which muscle is it?' }).waitFor();
  say({ type: 'trouble', trouble: 'cannot_save' });
  await page.getByText('The server cannot save answers just now.').waitFor();
  await inRoom(page, 'board-cannot-save');
  say({ type: 'trouble', trouble: 'saving_again' });
  await page.getByText('The server cannot save').waitFor({ state: 'detached' });
  await done(page);
});

test('a study group votes, and pauses between two rounds', async () => {
  const welcome = golden('watching');
  const review = { ...welcome.review, pace: /** @type {const} */ ({ kind: 'group', reveal_ms: 20_000 }) };
  const { page, say } = await watching({ review });
  say(golden('round_opened'));
  say(golden('votes'));
  await page.getByText('skip 2 of 3').waitFor();
  await inRoom(page, 'board-votes');
  say({ type: 'votes', rows: [] });
  await page.getByText('skip 2 of 3').waitFor({ state: 'detached' });
  say({ type: 'round_skipped', seq: 60, round: 3 });
  await page.getByRole('heading', { name: 'Round 3 of 18 was skipped' }).waitFor();
  say({ type: 'paused', seq: 61, elapsed_ms: 0 });
  await page.getByText('Paused: the next round waits.').waitFor();
  await inRoom(page, 'board-paused-between');
  await done(page);
});

test('a reveal without a picture, with many answers', async () => {
  const { page, say } = await watching({});
  const revealed = golden('revealed');
  const { reveal } = revealed;
  const others = Array.from({ length: 12 }, (_, at) => `some other muscle ${at + 1}`);
  reveal.pictures = [];
  reveal.spread = [
    ...others.map((name) => /** @type {const} */ ({ name, count: 3, verdict: 'wrong' })),
    { name: 'teres minor', count: 1, verdict: 'right' },
  ];
  say(golden('round_opened'));
  say(revealed);
  await page.getByRole('heading', { name: 'teres minor', level: 1 }).waitFor();
  await page.locator('.plate').waitFor();
  const right = page.locator('.spread li').filter({ hasText: 'right' });
  assert.match(`${await right.textContent()}`, /teres minor/, 'the right answer is never left out');
  await page.getByText('21 students gave 7 other answers.').waitFor();
  await inRoom(page, 'board-plate');
  await done(page);
});

test('the weak spots of a large review', async () => {
  const hardest = Array.from({ length: 8 }, (_, at) => ({
    muscle: `extensor carpi radialis longus ${at + 1}`, right: 30 * at, asked: 300, low: 0.09 * at, high: 0.09 * at + 0.12,
  }));
  const apart = { aspect: 'line of pull', asked: 'passes behind the long axis of the humerus', said: 'passes in front of it' };
  const pairs = Array.from({ length: 8 }, (_, at) => ({
    asked: 'extensor carpi radialis longus', said: 'extensor carpi radialis brevis', count: 90 - at, of: 300, apart,
  }));
  const { page } = await watching({
    moment: { phase: 'ended', why: 'instructor', summary: null, standings: [] },
    weak_spots: { hardest, pairs, map: [] },
  });
  await page.getByText('The instructor has ended the review.').first().waitFor();
  await page.getByText('2 more muscles: see the report').waitFor();
  await page.getByText('4 more pairs: see the report').waitFor();
  assert.equal(await page.getByRole('button', { name: 'standings' }).count(), 0, 'nothing to hide');
  await inRoom(page, 'board-weak-spots');
  await done(page);
});

test('a review that was broken off before its first reveal', async () => {
  const { page } = await watching({
    moment: { phase: 'ended', why: 'abandoned', summary: null, standings: [] },
    weak_spots: { hardest: [], pairs: [], map: [] },
  });
  await page.getByText('No muscle was taken for another.').waitFor();
  await inRoom(page, 'board-nothing-learnt');
  await done(page);
});

test('there is no place for another board', async () => {
  const page = await openPage(browser, `http://${host.address}/board`, HD);
  const refusal = { type: 'error', code: 'room_full', message: 'this review has all its boards' };
  await page.routeWebSocket(/\/live$/, (socket) => {
    socket.onMessage(() => socket.send(JSON.stringify(refusal)));
  });
  await page.getByLabel('Join word').fill('radius talus');
  await page.keyboard.press('Enter');
  await page.getByText('This review has all its boards.').waitFor();
  await inRoom(page, 'board-stopped');
  await page.getByRole('button', { name: 'Another join word' }).click();
  assert.equal(await page.getByLabel('Join word').inputValue(), 'radius-talus');
  await done(page);
});
