// Reviews conducted from the desk, with students in the test itself.

import assert from 'node:assert/strict';
import { test } from 'node:test';

import { PHONE, inspectAll, isSound } from '../harness/browser.mjs';
import { answer, atDesk, step, student, takeInHand } from '../harness/desk.mjs';
import { openLine } from '../harness/line.mjs';
import { openReview, planOf } from '../harness/peer.mjs';
import { browser, host } from '../harness/setting.mjs';

/** @import { Page } from 'playwright-core' */

const ROUNDS = [
  { muscle: 'teres minor', why: '2 of 3 took it for teres major' },
  { muscle: 'infraspinatus', task: 'picture' },
  { muscle: 'teres major', task: 'contrast', beside: 'teres minor' },
  { muscle: 'deltoid' },
];

test('a whole review from the desk', async () => {
  const { instructor, word } = await openReview(host, { plan: planOf(ROUNDS, 'limit = "10m"') });
  instructor.close();
  const page = await atDesk(browser, host);
  await takeInHand(page, word);
  const heading = page.getByRole('heading', { level: 1 });
  await heading.filter({ hasText: 'The review has not begun' }).waitFor();
  assert.equal(await page.locator('.scan').evaluate((image) => image instanceof HTMLImageElement && image.complete && image.naturalWidth > 0), true, 'the code is drawn');
  const start = page.getByRole('button', { name: 'Start' });
  assert.equal(await start.getAttribute('aria-disabled'), 'true', 'nobody is here');
  await inspectAll(page, 'desk-gathering');

  const names = ['Ana', 'Bo', 'Cleo'];
  const [ana, bo, cleo] = await Promise.all(names.map((name) => student(host, word, name)));
  assert.ok(ana && bo && cleo);
  await page.getByText('3 here, 0 away').waitFor();
  assert.equal(await page.getByText('Cleo', { exact: true }).count(), 0, 'names are hidden until they are asked for');
  assert.equal(await page.getByText('2 of 3 took it').count(), 0, 'and so is what comes');
  await page.getByRole('button', { name: 'Show names and answers' }).click();
  await page.getByRole('button', { name: 'Cleo' }).waitFor();
  await page.getByText('2 of 3 took it for teres major.').waitFor();

  await timeFor(page, cleo);
  await confusedRound(page, [ana, bo, cleo]);
  await pictureRound(page, [ana, bo, cleo]);
  await contrastRound(page, [ana, bo, cleo]);
  await skippedRound(page, [ana, bo, cleo]);

  await page.getByText('That was the last round.').waitFor();
  await step(page, 'Finish the review');
  await heading.filter({ hasText: 'The review is over' }).waitFor();
  await isOnMap(page, 'teres minor', 'teres major', '2 67 %');
  await inspectAll(page, 'desk-ended');
  await step(page, 'Hold another review');
  await heading.filter({ hasText: 'Open a review' }).waitFor();
  isSound(page);
  [ana, bo, cleo].forEach((peer) => peer.close());
  await page.context().close();
});

/** @typedef {import('../harness/peer.mjs').Peer} Peer */

/**
 * More time for one, told to nobody else.
 * @param {Page} page
 * @param {Peer} cleo
 */
async function timeFor(page, cleo) {
  await page.getByRole('button', { name: 'Cleo' }).click();
  await page.getByLabel('Another share').check();
  const percent = page.getByLabel('Per cent of the class’s time');
  await percent.fill('120');
  await page.getByRole('button', { name: 'Give this time' }).click();
  await page.getByText('A whole number from 150 to 1000.').waitFor();
  await inspectAll(page, 'desk-time');
  await percent.fill('175');
  await page.getByRole('button', { name: 'Give this time' }).click();
  const told = await cleo.until('time_changed');
  assert.deepEqual(told.time, { kind: 'stretched', percent: 175 });
  await page.getByRole('row', { name: /Cleo here 1\.75 ×/ }).waitFor();
  assert.equal(await page.evaluate(() => document.activeElement?.textContent), 'Cleo', 'the focus is back at the name');
}

/**
 * Two of three take teres minor for teres major.
 * @param {Page} page
 * @param {Peer[]} peers
 */
async function confusedRound(page, [ana, bo, cleo]) {
  assert.ok(ana && bo && cleo);
  await step(page, 'Start with 3 students');
  await page.getByRole('heading', { name: 'Which muscle is it?' }).waitFor();
  await answer(ana, 1, 'teres major');
  await answer(bo, 1, 'Teres Major');
  assert.equal(ana.heard.concat(bo.heard).some((message) => message.type === 'time_changed'), false, 'others are not told of own time');
  await page.getByText('2 of 3 answers are in.').waitFor();
  await page.locator('.answers').getByText('teres major').waitFor();
  await inspectAll(page, 'desk-open');
  await page.getByRole('button', { name: 'Hide names and answers' }).click();
  assert.equal(await page.getByText('teres major').count(), 0, 'the answers are hidden from a class that sees the screen');
  await page.getByRole('button', { name: 'Show names and answers' }).click();

  await page.getByRole('button', { name: 'Pause' }).click();
  await ana.until('paused');
  await page.getByText('Paused: the time stands still.').waitFor();
  await inspectAll(page, 'desk-paused');
  await page.getByRole('button', { name: 'Let the time run' }).click();
  await ana.until('resumed');
  await answer(cleo, 1, 'teres minor');
  await page.getByRole('heading', { name: 'The round is closed' }).waitFor();
  await inspectAll(page, 'desk-closed');
  await step(page, 'Show the answer');
  await page.getByRole('heading', { name: 'teres minor', level: 1 }).waitFor();
  await isOnMap(page, 'teres minor', 'teres major', '2 67 %');
  await page.locator('.pairs').getByText('2 of 3').waitFor();
  assert.equal(await page.locator('.map tbody tr').count(), 1, 'asked alone, not answered, is a row');
  await inspectAll(page, 'desk-revealed');
}

/**
 * A picture; one takes infraspinatus for supraspinatus, one says nothing.
 * @param {Page} page
 * @param {Peer[]} peers
 */
async function pictureRound(page, [ana, bo]) {
  assert.ok(ana && bo);
  await step(page, 'Open round 2 of 4');
  await page.getByRole('img', { name: /./ }).first().waitFor();
  await answer(ana, 2, 'supraspinatus');
  await answer(bo, 2, 'infraspinatus');
  await inspectAll(page, 'desk-picture');
  await step(page, 'Close the round');
  await step(page, 'Show the answer');
  await isOnMap(page, 'infraspinatus', 'supraspinatus', '1 33 %');
  await isOnMap(page, 'teres minor', 'teres major', '2 67 %');
  const cell = page.getByRole('row', { name: /^supraspinatus/ });
  assert.equal(await cell.locator('.some').count(), 0, 'the map does not turn its directions round');
}

/**
 * Which of two.
 * @param {Page} page
 * @param {Peer[]} peers
 */
async function contrastRound(page, [ana]) {
  assert.ok(ana);
  await step(page, 'Open round 3 of 4');
  await page.getByText('Offered: ').waitFor();
  await answer(ana, 3, 'teres minor');
  await step(page, 'Close the round');
  await step(page, 'Show the answer');
  await page.getByText('Offered beside teres minor.').waitFor();
  await inspectAll(page, 'desk-contrast');
}

/**
 * A round left out, after a question; and one student taken out.
 * @param {Page} page
 * @param {Peer[]} peers
 */
async function skippedRound(page, [, bo]) {
  assert.ok(bo);
  await step(page, 'Open round 4 of 4');
  await page.getByRole('button', { name: 'Skip the round' }).click();
  await page.getByRole('dialog').getByText('Skip round 4?').waitFor();
  await inspectAll(page, 'desk-skip');
  await page.keyboard.press('Escape');
  assert.equal(await page.getByRole('heading', { name: 'Which muscle is it?' }).count(), 1, 'Escape does nothing');
  await page.getByRole('button', { name: 'Skip the round' }).click();
  await page.getByRole('button', { name: 'Skip it' }).click();
  await page.getByRole('heading', { name: 'Round 4 was skipped' }).waitFor();

  await page.getByRole('button', { name: 'Bo' }).click();
  await page.getByRole('button', { name: 'Take out of the review' }).click();
  await page.getByRole('dialog').getByText('Take Bo out of the review?').waitFor();
  await page.getByRole('button', { name: 'Take out', exact: true }).click();
  await bo.until('removed');
  await page.getByText('Taken out: Bo').waitFor();
  assert.equal(await page.getByRole('button', { name: 'Bo' }).count(), 0);
}

/**
 * What stands where a row and a column of the map meet.
 * @param {Page} page
 * @param {string} asked
 * @param {string} said
 * @param {string} wanted Count and share.
 */
async function isOnMap(page, asked, said, wanted) {
  const columns = page.locator('.map thead th');
  await columns.filter({ hasText: new RegExp(`^${said}$`) }).waitFor();
  const heads = (await columns.allTextContents()).slice(1);
  const row = page.locator('.map tbody tr').filter({ has: page.locator('th', { hasText: new RegExp(`^${asked} of`) }) });
  assert.equal(await row.locator('td').nth(heads.indexOf(said)).textContent(), wanted, `${asked} → ${said}`);
}

test('the connection is lost and comes back', async () => {
  const { instructor, word } = await openReview(host, { plan: planOf(ROUNDS, 'limit = "10m"') });
  const line = await openLine(host.port);
  const page = await atDesk(browser, host, { address: line.address });
  await takeInHand(page, word);
  const peer = await student(host, word, 'Ana');
  await step(page, 'Start with 1 student');
  line.cut();
  await page.getByText('No connection').first().waitFor();
  await page.getByText('Wait until the connection is back.').waitFor();
  await inspectAll(page, 'desk-lost');
  await answer(peer, 1, 'teres minor');
  instructor.say({ type: 'reveal' });
  line.mend();
  await page.getByRole('heading', { name: 'teres minor', level: 1 }).waitFor();
  await step(page, 'Open round 2 of 4');

  await page.reload();
  await page.getByRole('heading', { name: 'Which muscle is it?' }).waitFor();
  assert.doesNotMatch(page.url(), new RegExp(host.key), 'the key is in no address');
  assert.equal(await page.evaluate(() => Object.keys(localStorage).length), 0, 'nothing outlasts the tab');
  await page.getByRole('button', { name: 'Leave', exact: true }).click();
  await page.getByRole('heading', { name: 'The instructor’s desk' }).waitFor();
  assert.equal(await page.getByLabel('Key', { exact: true }).inputValue(), '', 'the key is forgotten');
  assert.equal(await page.evaluate(() => sessionStorage.length), 0);
  isSound(page);
  peer.close();
  instructor.close();
  await page.context().close();
  await line.close();
});

test('names are text, whatever is in them', async () => {
  const { instructor, word } = await openReview(host, { plan: planOf(ROUNDS) });
  const names = ['<img src=x onerror=a()>', '"><b>x</b>', 'علي', 'W'.repeat(24)];
  const peers = await Promise.all(names.map((name) => student(host, word, name)));
  const page = await atDesk(browser, host, { options: PHONE });
  await takeInHand(page, word);
  await page.getByRole('button', { name: 'Show names and answers' }).click();
  for (const name of names) {
    await page.getByRole('button', { name, exact: true }).waitFor();
  }
  assert.equal(await page.locator('main img:not(.scan), main b').count(), 0, 'no name makes an element');
  assert.equal(await page.locator('.roll bdi').count(), names.length, 'names are set apart from the direction around');
  await page.getByRole('button', { name: names[0] ?? '', exact: true }).click();
  await page.getByRole('button', { name: 'Take out of the review' }).click();
  await page.getByText(`Take ${names[0]} out of the review?`).waitFor();
  await page.getByRole('button', { name: 'No, go on' }).click();
  await inspectAll(page, 'desk-names');
  isSound(page);
  peers.forEach((peer) => peer.close());
  instructor.close();
  await page.context().close();
});

test('by the keyboard alone', async () => {
  const { instructor, word } = await openReview(host, { plan: planOf(ROUNDS.slice(0, 1)) });
  const page = await atDesk(browser, host, { key: '' });
  const tabTo = (/** @type {RegExp} */ wanted) => reach(page, wanted);
  await tabTo(/^key$/);
  await page.keyboard.type(host.key);
  await tabTo(/^word$/);
  await page.keyboard.type(word);
  await page.keyboard.press('Enter');
  await page.getByRole('region', { name: 'Next step' }).waitFor();
  const peer = await student(host, word, 'Ana');
  await page.getByText('Opens the first round.').waitFor();
  await tabTo(/^Show names and answers$/);
  await page.keyboard.press('Space');
  await tabTo(/^Ana$/);
  await page.keyboard.press('Enter');
  await tabTo(/^time-/);
  await page.keyboard.press('ArrowDown');
  await tabTo(/^Give this time$/);
  await page.keyboard.press('Enter');
  assert.equal((await peer.until('time_changed')).time.percent, 150);
  await tabTo(/^Start with 1 student$/);
  await page.keyboard.press('Enter');
  await peer.until('round_opened');
  await tabTo(/^End the review$/);
  await page.keyboard.press('Enter');
  await tabTo(/^End it$/);
  await page.keyboard.press('Enter');
  await peer.until('ended');
  await page.getByRole('heading', { name: 'The review is over' }).waitFor();
  isSound(page);
  peer.close();
  instructor.close();
  await page.context().close();
});

/**
 * Presses Tab until the focus is on the element with this text or id.
 * @param {Page} page
 * @param {RegExp} wanted
 */
async function reach(page, wanted) {
  for (let presses = 0; presses < 60; presses += 1) {
    const at = await page.evaluate(() => document.activeElement?.textContent || document.activeElement?.id || '');
    if (wanted.test(at.trim())) {
      return;
    }
    await page.keyboard.press('Tab');
  }
  assert.fail(`Tab does not reach ${wanted}`);
}
