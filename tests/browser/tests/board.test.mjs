// The board as a room sees it: a whole review with thirty students, on two projectors, light and dark.

import assert from 'node:assert/strict';
import { test } from 'node:test';

import { isSound, openPage } from '../harness/browser.mjs';
import { openLine } from '../harness/line.mjs';
import { Peer, openReview, planOf } from '../harness/peer.mjs';
import { HD, inRoom } from '../harness/room.mjs';
import { browser, host } from '../harness/setting.mjs';

/** @import { Page } from 'playwright-core' */

/** Muscles that the shoulder list has, one round for each kind of task and one to leave out. */
const ROUNDS = [
  { muscle: 'teres minor' },
  { muscle: 'deltoid', task: 'picture' },
  { muscle: 'subscapularis', task: 'movement' },
  { muscle: 'teres major', beside: 'teres minor' },
  { muscle: 'infraspinatus' },
  { muscle: 'supraspinatus' },
];

/** Markup, a script that runs from right to left, signs beyond the first plane, and a name without a space. */
const HOSTILE = ['<img src=x onerror=a()>', 'مريم <b>علي</b>', 'Zoë 🦴🦴🦴', 'W'.repeat(24)];

/** Thirty students; every third is not listed. */
const CLASS = Array.from({ length: 30 }, (_, at) => ({
  name: HOSTILE[at] ?? `Student ${at + 1}`,
  listed: at < HOSTILE.length || at % 3 !== 0,
}));

/** @param {string} word */
async function takeSeats(word) {
  /** @type {Peer[]} */
  const peers = [];
  for (const { name, listed } of CLASS) {
    const who = { seat: null, person: null, group: null };
    peers.push(await Peer.meet(host.address, { type: 'join', word, name, listed, ...who }));
  }
  return peers;
}

/**
 * Students answer in turn, the first `answers[0].length` … with each text as often as is said.
 * @param {readonly Peer[]} peers
 * @param {number} round
 * @param {readonly [string, number][]} answers
 */
function answer(peers, round, answers) {
  const texts = answers.flatMap(([text, often]) => Array(often).fill(text));
  for (const [at, text] of texts.entries()) {
    const attempt = `00000000-0000-4000-8000-${String(round * 100 + at).padStart(12, '0')}`;
    peers[at]?.say({ type: 'answer', round, attempt, text, elapsed_ms: 2000 + 100 * at });
  }
}

test('a whole review before a class of thirty', async () => {
  const { instructor, word } = await openReview(host, { plan: planOf(ROUNDS, 'limit = "10m"') });
  const page = await openPage(browser, `http://${host.address}/board`, HD);
  const heading = page.getByRole('heading', { level: 1 });
  await asksForTheWord(page, word);

  await heading.filter({ hasText: 'Join the review' }).waitFor();
  await page.getByText('Nobody is here yet').waitFor();
  await inRoom(page, 'board-empty');
  const peers = await takeSeats(word);
  await page.getByText('30 students are here').waitFor();
  assert.equal(await page.getByText('Student 7', { exact: true }).count(), 0, 'who is not listed is not named');
  await page.getByText('and 8 others').waitFor();
  await isInert(page);
  await hasCode(page, word);
  await inRoom(page, 'board-gathering');

  await named(page, instructor, peers);
  await pictured(page, instructor, peers);
  await moved(page, instructor, peers);
  await ofTwo(page, instructor, peers);

  instructor.say({ type: 'next' });
  await page.getByText('Round 5 of 6', { exact: true }).waitFor();
  instructor.say({ type: 'skip' });
  await heading.filter({ hasText: 'Round 5 of 6 was skipped' }).waitFor();
  await inRoom(page, 'board-skipped');

  instructor.say({ type: 'next' });
  await page.getByText('Round 6 of 6', { exact: true }).waitFor();
  answer(peers, 6, [['supraspinatus', 3], ['infraspinatus', 14], ['deltoid', 8]]);
  await page.getByText('25 of 30 have answered').waitFor();
  instructor.say({ type: 'close_round' });
  await heading.filter({ hasText: 'Which muscle' }).waitFor();
  instructor.say({ type: 'reveal' });
  await heading.filter({ hasText: 'supraspinatus' }).waitFor();
  instructor.say({ type: 'next' });
  await heading.filter({ hasText: 'The review is over' }).waitFor();
  await page.getByRole('heading', { name: 'Hardest first' }).waitFor();
  await page.getByText('teres minor → teres major').waitFor();
  await inRoom(page, 'board-ended');
  isSound(page);
  [...peers, instructor].forEach((peer) => peer.close());
  await page.context().close();
});

/**
 * @param {Page} page
 * @param {string} word
 */
async function asksForTheWord(page, word) {
  const show = page.getByRole('button', { name: 'Show the review' });
  await page.getByLabel('Join word').fill('radius');
  await show.click();
  await page.getByText('A join word is two bone names').waitFor();
  await page.getByLabel('Join word').fill('no-such');
  await show.click();
  await page.locator('#word-fault').filter({ hasText: /\w/ }).waitFor();
  assert.equal(await page.evaluate(() => document.activeElement?.id), 'word');
  await inRoom(page, 'board-form');
  await page.getByLabel('Join word').fill(word);
  await page.keyboard.press('Enter');
}

/**
 * What students are called is text: nothing of it became an element.
 * @param {Page} page
 */
async function isInert(page) {
  for (const name of HOSTILE) {
    await page.getByText(name, { exact: true }).waitFor();
  }
  assert.equal(await page.locator('main ul img, main ul b').count(), 0);
}

/**
 * @param {Page} page
 * @param {string} word
 */
async function hasCode(page, word) {
  const code = page.getByRole('img', { name: 'Code to scan' });
  assert.match(`${await code.getAttribute('alt')}`, new RegExp(`http://.+/\\?word=${word}$`));
  const width = await code.evaluate((image) => image instanceof HTMLImageElement && image.naturalWidth);
  assert.ok(width, 'the code is drawn');
}

/**
 * Nothing on the page tells this muscle.
 * @param {Page} page
 * @param {RegExp} muscle
 */
async function tellsNothing(page, muscle) {
  assert.doesNotMatch(await page.content(), muscle, 'no element, attribute or text holds the answer');
  assert.doesNotMatch(await page.title(), muscle);
}

/**
 * A round that asks for a name.
 * @param {Page} page
 * @param {Peer} instructor
 * @param {readonly Peer[]} peers
 */
async function named(page, instructor, peers) {
  instructor.say({ type: 'start' });
  await page.getByRole('heading', { name: 'Which muscle is it?' }).waitFor();
  assert.match(await page.title(), /Round 1 of 6/);
  await page.getByText('0 of 30 have answered').waitFor();
  await tellsNothing(page, /teres minor/i);
  await inRoom(page, 'board-round');
  answer(peers, 1, [['teres minor', 14], ['teres major', 9], ['infraspinatus', 3]]);
  await page.getByText('26 of 30 have answered').waitFor();
  await tellsNothing(page, /teres/i);

  instructor.say({ type: 'pause' });
  await page.getByText('Paused', { exact: true }).waitFor();
  await inRoom(page, 'board-paused');
  instructor.say({ type: 'resume' });
  await page.getByText('Paused', { exact: true }).waitFor({ state: 'hidden' });

  instructor.say({ type: 'close_round' });
  await page.getByText('The instructor has closed the round.').last().waitFor();
  await page.getByText('26 of 30 students answered.').last().waitFor();
  await tellsNothing(page, /teres/i);
  await inRoom(page, 'board-closed');

  instructor.say({ type: 'reveal' });
  await page.getByRole('heading', { name: 'teres minor', level: 1 }).waitFor();
  await page.getByText('musculus teres minor').waitFor();
  await page.getByRole('heading', { name: 'What tells them apart' }).waitFor();
  assert.equal(await page.locator('.drawings figure').count(), 2, 'two pictures side by side');
  await page.getByRole('heading', { name: 'Standings' }).waitFor();
  await inRoom(page, 'board-revealed');
  await page.getByRole('button', { name: 'Hide standings' }).click();
  await page.getByRole('heading', { name: 'Standings' }).waitFor({ state: 'hidden' });
  await inRoom(page, 'board-revealed-no-standings');
  await page.getByRole('button', { name: 'Show standings' }).click();
}

/**
 * A round that asks by a picture.
 * @param {Page} page
 * @param {Peer} instructor
 * @param {readonly Peer[]} peers
 */
async function pictured(page, instructor, peers) {
  instructor.say({ type: 'next' });
  await page.getByText('Round 2 of 6', { exact: true }).waitFor();
  await page.locator('.round svg').waitFor();
  await tellsNothing(page, /deltoid/i);
  await inRoom(page, 'board-picture');
  answer(peers, 2, [['deltoid', 20], ['pectoralis major', 2]]);
  await page.getByText('22 of 30 have answered').waitFor();
  instructor.say({ type: 'close_round' });
  await page.getByText('The answer will be shown soon.').waitFor();
  await tellsNothing(page, /deltoid/i);
  await inRoom(page, 'board-picture-closed');
  instructor.say({ type: 'reveal' });
  await page.getByRole('heading', { name: 'deltoid', level: 1 }).waitFor();
  await inRoom(page, 'board-picture-revealed');
}

/**
 * A round that asks for a movement.
 * @param {Page} page
 * @param {Peer} instructor
 * @param {readonly Peer[]} peers
 */
async function moved(page, instructor, peers) {
  instructor.say({ type: 'next' });
  await page.getByRole('heading', { name: 'Which movement does it make?' }).waitFor();
  await tellsNothing(page, /subscapularis|medial rotation/i);
  await inRoom(page, 'board-movement');
  answer(peers, 3, [['medial rotation of the arm', 12], ['abduction of the arm', 7]]);
  await page.getByText('19 of 30 have answered').waitFor();
  instructor.say({ type: 'close_round' });
  await page.getByText('The answer will be shown soon.').waitFor();
  instructor.say({ type: 'reveal' });
  await page.getByRole('heading', { name: 'subscapularis', level: 1 }).waitFor();
  await inRoom(page, 'board-movement-revealed');
}

/**
 * A round that offers two muscles.
 * @param {Page} page
 * @param {Peer} instructor
 * @param {readonly Peer[]} peers
 */
async function ofTwo(page, instructor, peers) {
  instructor.say({ type: 'next' });
  await page.getByRole('heading', { name: 'Which of the two is it?' }).waitFor();
  const offered = await page.locator('.offered').textContent();
  assert.match(`${offered}`, /^(teres major or teres minor|teres minor or teres major)$/);
  await inRoom(page, 'board-contrast');
  answer(peers, 4, [['teres major', 15], ['teres minor', 13]]);
  await page.getByText('28 of 30 have answered').waitFor();
  instructor.say({ type: 'close_round' });
  await page.getByText('The answer will be shown soon.').waitFor();
  await inRoom(page, 'board-contrast-closed');
  instructor.say({ type: 'reveal' });
  await page.getByText('Offered beside teres minor.').waitFor();
  await inRoom(page, 'board-contrast-revealed');
}

test('a connection that is lost is told once, and the board comes back by itself', async () => {
  const { instructor, word } = await openReview(host, { plan: planOf(ROUNDS, 'limit = "10m"') });
  const line = await openLine(host.port);
  const page = await openPage(browser, `http://${line.address}/board?word=${word}`, HD);
  await page.getByRole('heading', { name: 'Join the review' }).waitFor();
  line.cut();
  await page.getByText(/^No connection \(/).waitFor();
  await page.locator('#urgent').filter({ hasText: 'No connection. Trying again.' }).waitFor();
  await inRoom(page, 'board-lost');
  instructor.say({ type: 'start' });
  await instructor.until('round_opened');
  line.mend();
  await page.getByRole('heading', { name: 'Which muscle is it?' }).waitFor();
  await page.getByText(/^No connection \(/).waitFor({ state: 'detached' });
  assert.equal(await page.locator('#urgent').textContent(), '', 'nothing is left to be read out');
  isSound(page);
  instructor.close();
  await page.context().close();
  await line.close();
});
