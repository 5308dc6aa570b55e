// Who uses the page: study groups, names of all kinds, those who use the keyboard alone, those on slow networks,
// those who asked their system for large type, less motion or dark.

import assert from 'node:assert/strict';
import { test } from 'node:test';

import { LAPTOP, hasNoSideScroll, inspect, inspectAll, isSound, openPage } from '../harness/browser.mjs';
import { openReview, planOf } from '../harness/peer.mjs';
import { browser, host } from '../harness/setting.mjs';
import { answer, joined, shows } from '../harness/student.mjs';

const PLAN = planOf([{ muscle: 'teres minor' }, { muscle: 'infraspinatus' }], 'limit = "10m"');

test('a study group gathers, votes and ends', async () => {
  const ana = await openPage(browser, `http://${host.address}/`);
  await ana.getByRole('button', { name: 'Open a study group' }).click();
  await ana.getByLabel('Muscle list').locator('option').nth(1).waitFor({ state: 'attached' });
  await inspectAll(ana, 'gather');
  await ana.getByLabel('Rounds').selectOption('5');
  await ana.getByLabel('Time for a round').selectOption('300000');
  await ana.getByLabel('Your name').fill('Ana');
  await ana.getByRole('button', { name: 'Open the group' }).click();
  await shows(ana, 'The study group gathers');
  const link = (await ana.locator('.link').textContent()) ?? '';
  assert.match(link, new RegExp(`^http://${host.address}/\\?word=[a-z-]+$`));
  const code = ana.getByRole('img', { name: /QR code/ });
  assert.ok(await code.evaluate((/** @type {any} */ image) => image.decode().then(() => image.naturalWidth > 0)));
  await inspectAll(ana, 'gathering');

  const bo = await openPage(browser, link);
  await bo.getByLabel('Your name').fill('Bo');
  await bo.getByRole('button', { name: 'Join' }).click();
  await shows(bo, '2 students are here.');
  await bo.getByText('Your own time').click();
  await bo.getByLabel('From the next round on').selectOption('150');
  await shows(bo, 'Your own time from the next round on: 7:30.');
  await shows(bo, 'You have 7:30 for a round.');
  await bo.getByRole('button', { name: 'Start the first round' }).click();
  await shows(ana, 'Round 1 of 5');
  await inspectAll(ana, 'group-round');

  const skip = ana.getByRole('button', { name: 'Skip this round' });
  await skip.click();
  await shows(bo, 'For it: skip 1 of 2');
  await shows(ana, 'For it: skip 1 of 2, you too');
  assert.equal(await skip.getAttribute('aria-pressed'), 'true');
  await inspectAll(ana, 'group-vote');
  await skip.click();
  await shows(bo, 'For it: nothing yet; it takes 2 of 2 here');

  await ana.getByRole('button', { name: 'Pause' }).click();
  await bo.getByRole('button', { name: 'Pause' }).click();
  await shows(ana, 'Paused. You can type now, and send when it goes on.');
  await inspect(ana, 'group-paused');
  await ana.getByRole('button', { name: 'Go on' }).click();
  await bo.getByRole('button', { name: 'Go on' }).click();
  await ana.getByText('Paused.').first().waitFor({ state: 'detached' });

  await ana.getByRole('button', { name: 'Skip this round' }).click();
  await bo.getByRole('button', { name: 'Skip this round' }).click();
  // After a skip the next round opens by itself.
  await shows(bo, 'Round 2 of 5');
  await answer(ana, 'deltoid');
  await answer(bo, 'soleus');
  await ana.getByRole('button', { name: 'Next round now' }).waitFor();
  await inspectAll(ana, 'group-reveal');
  await ana.getByRole('button', { name: 'End the review' }).click();
  await bo.getByRole('button', { name: 'End the review' }).click();
  await shows(ana, 'The study group has ended the review.');
  [ana, bo].forEach(isSound);
  await ana.context().close();
  await bo.context().close();
});

test('names of all kinds are shown as they are, and never read as markup', async () => {
  const names = ['<img src=x onerror=a()>', 'نور الهدى', '🦴 Mia 👩‍🔬', 'Zoë "&amp;"'];
  const { instructor, word } = await openReview(host, { plan: PLAN });
  const pages = [];
  for (const name of names) {
    const page = await joined(browser, { address: host.address, word, name });
    assert.equal(await page.locator('#top bdi').textContent(), name);
    pages.push(page);
  }
  instructor.say({ type: 'start' });
  for (const [at, page] of pages.entries()) {
    await answer(page, ['teres minor', 'teres major', 'deltoid', 'infraspinatus'][at] ?? '');
  }
  const [first] = pages;
  assert.ok(first);
  await shows(first, 'The round is closed');
  instructor.say({ type: 'reveal' });
  await first.getByRole('table').filter({ hasText: 'Place' }).waitFor();
  const listed = await first.locator('.standings bdi').allTextContents();
  assert.deepEqual(listed.sort(), [...names].sort());
  assert.equal(await first.locator('main img').count(), 0);
  await inspectAll(first, 'names');
  pages.forEach(isSound);
  await Promise.all(pages.map((page) => page.context().close()));

  const typed = await joined(browser, { address: host.address, word, name: 'Ana' });
  instructor.say({ type: 'next' });
  await answer(typed, '<b>teres</b> ');
  await shows(typed, /<b>teres<\/b>/);
  isSound(typed);
  instructor.close();
  await typed.context().close();
});

test('the keyboard alone is enough, and the answer field keeps the focus', async () => {
  const { instructor, word } = await openReview(host, { plan: PLAN });
  const page = await openPage(browser, `http://${host.address}/?word=${word}`, LAPTOP);
  const focused = () =>
    page.evaluate(() => document.activeElement?.id || document.activeElement?.textContent || '');
  const keys = page.keyboard;
  await keys.press('Tab');
  assert.equal(await focused(), 'word');
  await keys.press('Tab');
  assert.equal(await focused(), 'name');
  await keys.type('Ana');
  await keys.press('Tab');
  assert.equal(await focused(), 'listed');
  await keys.press('Space');
  assert.ok(await page.getByLabel('Show my name').isChecked());
  await page.getByLabel('Your name').focus();
  await keys.press('Enter');
  await shows(page, 'You have a seat');
  assert.equal(await focused(), 'The review begins soon', 'the view changed by their own act');

  instructor.say({ type: 'start' });
  await page.locator('#answer').waitFor();
  assert.notEqual(await focused(), 'answer', 'the focus is not taken from a reader');
  await keys.press('Tab');
  assert.equal(await focused(), 'answer');
  await inspect(page, 'keyboard-focus');
  await keys.type('teres minor');
  await keys.press('Enter');
  await shows(page, 'The round is closed');
  instructor.say({ type: 'reveal' });
  await shows(page, 'you answered teres minor');
  instructor.say({ type: 'next' });
  await page.locator('#answer').waitFor();
  await page.waitForFunction(() => document.activeElement?.id === 'answer');

  await keys.type('teres');
  await keys.press('Enter');
  await shows(page, 'Which one?');
  await keys.press('Tab');
  await keys.press('Tab');
  assert.equal(await focused(), 'teres major');
  await keys.press('Enter');
  await shows(page, 'The round is closed');
  isSound(page);
  instructor.close();
  await page.context().close();
});

test('the first view is usable over a slow network, within its budget', async () => {
  const { instructor, word } = await openReview(host, { plan: PLAN });
  const page = await openPage(browser, 'about:blank');
  const session = await page.context().newCDPSession(page);
  let bytes = 0;
  let requests = 0;
  await session.send('Network.enable');
  session.on('Network.loadingFinished', (event) => (bytes += event.encodedDataLength));
  session.on('Network.requestWillBeSent', () => (requests += 1));
  // 400 kbit/s each way and 400 ms of latency: the profile that Chromium's own tools call "Slow 3G".
  await session.send('Network.emulateNetworkConditions', {
    offline: false, latency: 400, downloadThroughput: 50_000, uploadThroughput: 50_000,
  });
  await page.goto(`http://${host.address}/?word=${word}`);
  await page.getByLabel('Your name').fill('Ana');
  await page.getByRole('button', { name: 'Join' }).click();
  await shows(page, 'You have a seat');
  assert.ok(bytes > 20_000 && bytes < 75_000, `${bytes} bytes with all headers`);
  assert.ok(requests <= 30, `${requests} requests`);
  instructor.say({ type: 'start' });
  await answer(page, 'teres minor');
  await shows(page, 'The round is closed');
  isSound(page);
  instructor.close();
  await page.context().close();
});

test('large type, a narrow window, dark, less motion and forced colours', async () => {
  const { instructor, word } = await openReview(host, { plan: PLAN });
  const options = {
    viewport: { width: 320, height: 560 },
    colorScheme: /** @type {const} */ ('dark'),
    reducedMotion: /** @type {const} */ ('reduce'),
    forcedColors: /** @type {const} */ ('active'),
  };
  const page = await joined(browser, { address: host.address, word, name: 'W'.repeat(24), options });
  await page.evaluate(() => document.documentElement.style.setProperty('font-size', '200%'));
  await hasNoSideScroll(page, 'waiting');
  instructor.say({ type: 'start' });
  await answer(page, 'teres');
  await shows(page, 'Which one?');
  await hasNoSideScroll(page, 'which one');
  await page.getByRole('button', { name: 'teres major' }).click();
  await shows(page, 'The round is closed');
  instructor.say({ type: 'reveal' });
  await shows(page, 'you answered teres major');
  await hasNoSideScroll(page, 'revealed');
  await inspect(page, 'forced-large');
  const small = await page.evaluate(() =>
    [...document.querySelectorAll('button, summary, input:not([type=checkbox]), select')]
      .filter((node) => node.getClientRects().length > 0 && node.getBoundingClientRect().height < 44)
      .map((node) => `${node.tagName} ${node.textContent}`),
  );
  assert.deepEqual(small, [], 'targets are 44 px high');
  const moves = await page.evaluate(() => document.getAnimations().length);
  assert.equal(moves, 0);
  isSound(page);
  instructor.close();
  await page.context().close();
});

test('the time that is left is told, and read out once when it is nearly up', async () => {
  const { instructor, word } = await openReview(host, { settings: { limit_ms: 16_000, rounds: 1 } });
  const page = await joined(browser, { address: host.address, word, name: 'Ana' });
  instructor.say({ type: 'start' });
  await shows(page, /^1\d s left$/);
  await page.locator('#urgent').filter({ hasText: /^10 seconds left$/ }).waitFor({ state: 'attached' });
  await page.locator('#answer').fill('teres');
  await shows(page, /^[0-8] s left$/);
  await inspect(page, 'nearly-up');
  await shows(page, 'Time is up: the round is closed.');
  await shows(page, 'You gave no answer.');
  isSound(page);
  instructor.close();
  await page.context().close();
});
