// The key, the forms with which a review is opened, the plan and the report.

import assert from 'node:assert/strict';
import { test } from 'node:test';

import { inspectAll, isSound } from '../harness/browser.mjs';
import { answer, atDesk, student } from '../harness/desk.mjs';
import { openReview, planOf } from '../harness/peer.mjs';
import { browser, host } from '../harness/setting.mjs';

/** @import { Page } from 'playwright-core' */

/** A key of the form that a host's has, and not that of any. */
const WRONG = '0123456789abcdef0123456789abcdef';

test('the key is asked for, hidden, and refused where it is wrong', async () => {
  const page = await atDesk(browser, host, { key: '' });
  const key = page.getByLabel('Key', { exact: true });
  assert.equal(await key.getAttribute('type'), 'password');
  assert.equal(await key.getAttribute('autocomplete'), 'off');
  await inspectAll(page, 'desk-key');
  await page.getByRole('button', { name: 'Take it in hand' }).click();
  await page.getByText('The key is needed').waitFor();
  assert.equal(await page.evaluate(() => document.activeElement?.id), 'key');

  await key.fill(WRONG);
  await page.getByRole('button', { name: 'Show the key' }).click();
  assert.equal(await key.getAttribute('type'), 'text');
  await page.getByRole('button', { name: 'Hide the key' }).click();
  await page.getByRole('button', { name: 'Take it in hand' }).click();
  await page.getByText('That key does not conduct this review.').waitFor();
  assert.equal(await page.evaluate(() => document.activeElement?.id), 'key');
  assert.equal(await key.getAttribute('aria-invalid'), 'true');
  await inspectAll(page, 'desk-wrong-key');

  await key.fill(host.key);
  await page.getByLabel('Join word').fill('atlas-axis-hyoid');
  await page.getByRole('button', { name: 'Take it in hand' }).click();
  await page.getByText('No review here is called').waitFor();
  await page.getByLabel('Join word').fill('');
  await page.getByRole('button', { name: 'Take it in hand' }).click();
  await page.getByRole('heading', { name: 'The review has not begun' }).waitFor();
  assert.equal(await page.locator('#top strong').textContent(), host.word, 'the only review needs no join word');
  assert.equal(page.url(), `http://${host.address}/desk`);
  isSound(page);
  await page.context().close();
});

test('a review of a list, with rule, limit and spelling', async () => {
  const page = await opening();
  await inspectAll(page, 'desk-opening');
  await page.getByLabel('Muscle list', { exact: true }).selectOption('rotator-cuff');
  await page.getByLabel('Number of rounds').fill('501');
  await page.getByLabel('Time limit').fill('0.5');
  await page.getByRole('button', { name: 'Open the review' }).click();
  await page.getByText('A whole number from 1 to 500.').waitFor();
  await page.getByText('A whole number from 1 to 600.').waitFor();
  assert.equal(await page.evaluate(() => document.activeElement?.id), 'rounds');
  await inspectAll(page, 'desk-opening-fault');
  await page.getByLabel('Number of rounds').fill('4');
  await page.getByLabel('Time limit').fill('30');
  await page.getByLabel('A wrong answer costs points').check();
  await page.getByLabel('As in a practical').check();
  await page.getByLabel('A movement that it makes').check();
  await page.getByLabel('Rounds follow each other').check();
  await page.getByLabel('How long an answer stays').fill('12');
  await page.getByLabel('Chosen by what the class').check();
  await page.getByLabel('Section of the course').fill('Lab A');
  await page.getByText('You have 30 s for a round.').waitFor();
  await page.getByText('a wrong answer costs as many').waitFor();

  const seated = (await opened(page)).greeting;
  // What a student is told is what was set.
  const { rounds, limit_ms: limit, tasks, rule, spelling, pace, adaptive } = seated.review;
  assert.deepEqual(
    { rounds, limit, tasks, rule, spelling, pace, adaptive },
    {
      rounds: 4,
      limit: 30_000,
      tasks: ['name', 'movement'],
      rule: 'signed_residual_time',
      spelling: 'strict',
      pace: { kind: 'automatic', reveal_ms: 12_000 },
      adaptive: true,
    },
  );
  assert.match(seated.review.list, /rotator cuff/i);
  isSound(page);
  await page.context().close();
});

test('a muscle list of one’s own, and what is wrong in it', async () => {
  const page = await opening();
  await page.getByLabel('A muscle list of your own').first().check();
  await page.getByRole('button', { name: 'Open the review' }).click();
  await page.getByText('A muscle list is needed').waitFor();
  await page.locator('#own-file').setInputFiles({
    name: 'practical.txt',
    mimeType: 'text/plain',
    buffer: Buffer.from('name: Upper limb practical\n\nteres minor\nM. deltoideus\nteres mayor major\n'),
  });
  await page.getByRole('button', { name: 'Open the review' }).click();
  const fault = page.locator('#own-fault');
  await fault.filter({ hasText: /own_list:5:\d+: .*nearest: `teres major`/ }).waitFor();
  await inspectAll(page, 'desk-own-fault');
  const text = page.locator('#own');
  await text.fill((await text.inputValue()).replace('teres mayor major', 'teres major'));
  const peer = await opened(page);
  assert.equal(peer.greeting.review.list, 'Upper limb practical');
  assert.equal(peer.greeting.review.rounds, 3, 'each muscle once');
  isSound(page);
  await page.context().close();
});

test('a faulty plan is refused with its lines, and held once it is mended', async () => {
  const page = await opening();
  await page.getByLabel('Rounds that are planned').check();
  await page.getByLabel('The plan', { exact: true }).fill(planOf([{ muscle: 'teres mimor' }, { muscle: 'deltoid', task: 'guess' }]));
  await page.getByRole('button', { name: 'Open the review' }).click();
  const fault = page.locator('#plan-fault');
  await fault.filter({ hasText: /plan:4:\d+: .*teres mimor.*nearest: `teres minor`/ }).waitFor();
  assert.match((await fault.textContent()) ?? '', /plan:7:\d+: .*guess/, 'all faults are told at once');
  await inspectAll(page, 'desk-plan-fault');
  await page.getByLabel('The plan', { exact: true }).fill(planOf([{ muscle: 'teres minor', why: 'too little is known of it' }]));
  const peer = await opened(page);
  assert.equal(peer.greeting.review.rounds, 1);
  await page.getByRole('button', { name: 'Show names and answers' }).click();
  await page.getByText('Too little is known of it.').waitFor();

  await page.reload();
  await page.getByRole('heading', { name: 'The review has not begun' }).waitFor();
  isSound(page);
  await page.context().close();
});

test('a plan is proposed from what was held, edited, and held', async () => {
  await held();
  const page = await opening();
  await page.getByLabel('Rounds that are planned').check();
  await page.getByText('Have a plan proposed').click();
  await page.getByLabel('For the muscle list').selectOption('shoulder');
  await page.getByLabel('Rounds', { exact: true }).fill('6');
  await page.getByRole('button', { name: 'Propose a plan' }).click();
  await page.getByText('6 rounds are proposed.').waitFor();
  const plan = page.getByLabel('The plan', { exact: true });
  const text = await plan.inputValue();
  assert.equal(text.match(/^why = /gm)?.length, 6, 'each round says why it is in');
  await inspectAll(page, 'desk-plan-proposed');
  const [head = '', ...rounds] = text.split('[[round]]');
  await plan.fill([head, ...rounds.slice(0, 2)].join('[[round]]'));
  const peer = await opened(page);
  assert.equal(peer.greeting.review.rounds, 2, 'the edited plan is held');
  isSound(page);
  await page.context().close();
});

test('why no plan can be proposed is told', async () => {
  await held();
  const page = await opening();
  await page.getByLabel('Rounds that are planned').check();
  await page.getByText('Have a plan proposed').click();
  await page.getByLabel('Rounds', { exact: true }).fill('0');
  await page.getByRole('button', { name: 'Propose a plan' }).click();
  await page.getByText('0 is not a number of rounds from 1 to 500.').waitFor();
  assert.equal(await page.getByLabel('The plan', { exact: true }).inputValue(), '');
  await page.context().close();
});

test('the report opens in a window of its own and names no student', async () => {
  await held();
  const page = await atDesk(browser, host);
  const opens = page.context().waitForEvent('page');
  await page.getByRole('button', { name: 'Open the report' }).click();
  const report = await opens;
  await report.getByText('teres major').first().waitFor();
  const content = await report.content();
  assert.doesNotMatch(content, /Zenobia|Quirin/, 'no student is named');
  assert.equal(content.includes(host.key), false);
  assert.equal(report.url().includes(host.key), false, 'the key is in no address');
  assert.equal((await page.content()).includes(host.key), false, 'nor written into the page');
  await report.close();

  await page.getByLabel('Section').fill('Lab Z');
  const again = page.context().waitForEvent('page');
  await page.getByRole('button', { name: 'Open the report' }).click();
  const none = await again;
  await none.getByRole('heading', { name: 'This could not be made' }).waitFor();
  await page.context().close();
});

/** The form for another review. */
async function opening() {
  const page = await atDesk(browser, host);
  await page.getByRole('button', { name: 'Open another review' }).click();
  await page.getByRole('heading', { name: 'Open a review' }).waitFor();
  await page.locator('#list option').nth(1).waitFor({ state: 'attached' });
  return page;
}

/**
 * Opens what is filled in; a student joins it.
 * @param {Page} page
 */
async function opened(page) {
  await page.getByRole('button', { name: 'Open the review' }).click();
  await page.getByRole('heading', { name: 'The review has not begun' }).waitFor();
  const word = (await page.locator('#top strong').textContent()) ?? '';
  return student(host, word, 'Ana');
}

/** Holds a review of one round, in which one of two takes teres minor for teres major. */
async function held() {
  const { instructor, word } = await openReview(host, { plan: planOf([{ muscle: 'teres minor' }]) });
  const peers = [await student(host, word, 'Zenobia'), await student(host, word, 'Quirin')];
  instructor.say({ type: 'start' });
  await answer(/** @type {any} */ (peers[0]), 1, 'teres major');
  await answer(/** @type {any} */ (peers[1]), 1, 'teres minor');
  await instructor.until('round_closed');
  instructor.say({ type: 'reveal' });
  await instructor.until('revealed');
  instructor.say({ type: 'end' });
  await instructor.until('ended');
  [...peers, instructor].forEach((peer) => peer.close());
}
