// A whole review as one student meets it on a phone, from the link to the summary.

import assert from 'node:assert/strict';
import { test } from 'node:test';

import { inspectAll, isSound, openPage } from '../harness/browser.mjs';
import { Peer, openReview, planOf } from '../harness/peer.mjs';
import { browser, host } from '../harness/setting.mjs';

/** Muscles that the shoulder list has, one round for each kind of task and one to leave out. */
const ROUNDS = [
  { muscle: 'teres minor' },
  { muscle: 'deltoid', task: 'picture' },
  { muscle: 'subscapularis', task: 'movement' },
  { muscle: 'teres major', beside: 'teres minor' },
  { muscle: 'infraspinatus' },
];

test('a whole review on a phone', async () => {
  const { instructor, word } = await openReview(host, { plan: planOf(ROUNDS, 'limit = "10m"') });
  const page = await openPage(browser, `http://${host.address}/?word=${word}`);
  const heading = page.getByRole('heading', { level: 1 });

  await heading.filter({ hasText: 'Join a review' }).waitFor();
  assert.equal(await page.getByLabel('Join word').inputValue(), word);
  await inspectAll(page, 'join');
  await page.getByRole('button', { name: 'Join' }).click();
  await page.getByText('A name is needed').waitFor();
  assert.equal(await page.evaluate(() => document.activeElement?.id), 'name');
  await inspectAll(page, 'join-fault');
  await page.getByLabel('Your name').fill('Ana');
  await page.getByLabel('Show my name').check();
  await page.getByRole('button', { name: 'Join' }).click();

  await heading.filter({ hasText: 'The review begins soon' }).waitFor();
  await page.getByText('1 student is here.').waitFor();
  await inspectAll(page, 'waiting');
  const rowe = await Peer.meet(host.address, {
    type: 'join', word, name: 'Bo', listed: false, seat: null, person: null, group: null,
  });
  await page.getByText('2 students are here.').waitFor();

  await named(page, instructor, rowe);
  await pictured(page, instructor);
  await moved(page, instructor, rowe);
  await ofTwo(page, instructor);

  instructor.say({ type: 'next' });
  await page.locator('#top').getByText('Round 5 of 5').waitFor();
  instructor.say({ type: 'skip' });
  await heading.filter({ hasText: 'Round 5 of 5 was skipped' }).waitFor();
  await inspectAll(page, 'skipped');

  instructor.say({ type: 'next' });
  await heading.filter({ hasText: 'The review is over' }).waitFor();
  await page.getByRole('heading', { name: 'Look at these again' }).waitFor();
  assert.match(await page.title(), /over/);
  // Contrast rounds count for the one chosen; teres minor was chosen for teres major.
  await page.getByText('you chose teres minor').waitFor();
  await inspectAll(page, 'ended');
  isSound(page);
  rowe.close();
  instructor.close();
  await page.context().close();
});

/**
 * A round that asks for a name: asked back twice, then answered right; a near-miss by somebody else.
 * @param {import('playwright-core').Page} page
 * @param {Peer} instructor
 * @param {Peer} other
 */
async function named(page, instructor, other) {
  instructor.say({ type: 'start' });
  await page.getByRole('heading', { name: 'Which muscle is it?' }).waitFor();
  assert.match(await page.title(), /Round 1 of 5/);
  await inspectAll(page, 'round');
  const answer = page.getByLabel('The muscle’s name');
  const send = page.getByRole('button', { name: 'Send' });
  await send.click();
  await page.getByText('Type a name first.').waitFor();
  // The clock goes on, and the sentence stays until something is typed.
  const time = page.getByRole('timer');
  const before = (await time.textContent()) ?? '';
  await time.filter({ hasNotText: before }).waitFor();
  assert.ok(await page.getByText('Type a name first.').isVisible());

  await answer.fill('teres');
  await answer.press('Enter');
  await page.getByText('Which one? “teres” fits several muscles:').waitFor();
  await inspectAll(page, 'which-one');
  await answer.fill('zygomaxxus');
  await send.click();
  await page.getByText('No muscle is called “zygomaxxus”.').waitFor();
  await inspectAll(page, 'unknown-name');

  instructor.say({ type: 'pause' });
  await page.getByText('Paused by the instructor.').waitFor();
  await inspectAll(page, 'paused');
  instructor.say({ type: 'resume' });
  await page.getByText('Paused by the instructor.').waitFor({ state: 'detached' });

  await answer.fill('Teres Minor');
  await answer.press('Enter');
  await page.getByText('Recorded: your answer counts.').waitFor();
  assert.equal(await answer.inputValue(), 'Teres Minor', 'the answer stays in the field');
  assert.equal(await answer.getAttribute('readonly'), '');
  await inspectAll(page, 'recorded');

  const attempt = '00000000-0000-4000-8000-00000000000a';
  other.say({ type: 'answer', round: 1, attempt, text: 'teres major', elapsed_ms: 4000 });
  await page.getByRole('heading', { name: 'The round is closed' }).waitFor();
  await page.getByText('Your answer “Teres Minor” is recorded.').waitFor();
  await inspectAll(page, 'closed');

  instructor.say({ type: 'reveal' });
  await page.getByRole('heading', { name: 'teres minor', level: 1 }).waitFor();
  await page.getByText('you answered teres minor').waitFor();
  await page.getByRole('heading', { name: 'What tells them apart' }).waitFor();
  assert.equal(await page.locator('.drawings figure').count(), 2, 'two pictures side by side');
  const standings = page.getByRole('table').filter({ hasText: 'Place' });
  await standings.getByText('Ana').waitFor();
  await standings.getByText('(not listed)').waitFor();
  assert.equal(await standings.getByText('Bo').count(), 0, 'who is not listed is not named');
  await inspectAll(page, 'revealed');
}

/**
 * A round that asks by a picture.
 * @param {import('playwright-core').Page} page
 * @param {Peer} instructor
 */
async function pictured(page, instructor) {
  instructor.say({ type: 'next' });
  await page.getByRole('heading', { name: 'Which muscle is it?' }).waitFor();
  const picture = page.getByRole('img');
  const told = `${await picture.getAttribute('aria-label')} ${await picture.locator('desc').textContent()}`;
  assert.doesNotMatch(told, /deltoid/i, 'the picture does not tell its muscle');
  assert.doesNotMatch(await page.content(), /deltoid/i, 'nor does anything else on the page');
  await inspectAll(page, 'picture');
  await page.getByLabel('The muscle’s name').fill('soleus');
  await page.getByRole('button', { name: 'Send' }).click();
  await page.getByText('Recorded: your answer counts.').waitFor();
  instructor.say({ type: 'close_round' });
  await page.getByRole('heading', { name: 'The round is closed' }).waitFor();
  instructor.say({ type: 'reveal' });
  await page.getByRole('heading', { name: 'deltoid', level: 1 }).waitFor();
  await page.getByText('you answered soleus').waitFor();
  await inspectAll(page, 'picture-revealed');
}

/**
 * A round that asks for a movement. Subscapularis rotates the arm medially (common in textbooks of anatomy, and
 * in the project's own reference data).
 * @param {import('playwright-core').Page} page
 * @param {Peer} instructor
 * @param {Peer} other
 */
async function moved(page, instructor, other) {
  instructor.say({ type: 'next' });
  await page.getByRole('heading', { name: 'Which movement does it make?' }).waitFor();
  await page.getByText('In this form, but not this one:').waitFor();
  await inspectAll(page, 'movement');
  await page.getByLabel('A movement that it makes').fill('medial rotation of the arm');
  await page.getByRole('button', { name: 'Send' }).click();
  await page.getByText('Recorded: your answer counts.').waitFor();
  const attempt = '00000000-0000-4000-8000-00000000000b';
  other.say({ type: 'answer', round: 3, attempt, text: 'abduction of the arm', elapsed_ms: 4000 });
  await page.getByRole('heading', { name: 'The round is closed' }).waitFor();
  instructor.say({ type: 'reveal' });
  await page.getByRole('heading', { name: 'subscapularis', level: 1 }).waitFor();
  await page.locator('.outcome').getByText('right').waitFor();
  await inspectAll(page, 'movement-revealed');
}

/**
 * A round that offers two muscles.
 * @param {import('playwright-core').Page} page
 * @param {Peer} instructor
 */
async function ofTwo(page, instructor) {
  instructor.say({ type: 'next' });
  await page.getByRole('heading', { name: 'Which of the two is it?' }).waitFor();
  const pick = page.getByRole('button', { name: 'teres minor' });
  await pick.waitFor();
  assert.equal(await page.locator('#answer').count(), 0, 'nothing to type');
  await inspectAll(page, 'contrast');
  await pick.click();
  await page.getByText('Recorded: your answer counts.').waitFor();
  assert.equal(await pick.getAttribute('aria-pressed'), 'true');
  await inspectAll(page, 'contrast-recorded');
  instructor.say({ type: 'close_round' });
  await page.getByRole('heading', { name: 'The round is closed' }).waitFor();
  instructor.say({ type: 'reveal' });
  await page.getByText('Offered beside teres minor.').waitFor();
  await inspectAll(page, 'contrast-revealed');
}
