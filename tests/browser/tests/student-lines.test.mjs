// What a student keeps when pages are closed and networks go: the seat, the points, the answer.

import assert from 'node:assert/strict';
import { test } from 'node:test';

import { inspect, isSound, openPage } from '../harness/browser.mjs';
import { startHost } from '../harness/host.mjs';
import { openLine } from '../harness/line.mjs';
import { Peer, openReview, planOf } from '../harness/peer.mjs';
import { browser, host } from '../harness/setting.mjs';
import { answer, joined, pointsOf, shows } from '../harness/student.mjs';

const PLAN = planOf([{ muscle: 'teres minor' }, { muscle: 'infraspinatus' }], 'limit = "10m"');

test('a page loaded anew in a round has the same seat, answer and points', async () => {
  const { instructor, word } = await openReview(host, { plan: PLAN });
  const page = await joined(browser, { address: host.address, word, name: 'Ana' });
  instructor.say({ type: 'start' });
  await answer(page, 'teres minor');
  await shows(page, 'The round is closed');
  instructor.say({ type: 'reveal' });
  await shows(page, 'you answered teres minor');
  const points = await pointsOf(page);
  assert.match(points, /^(100|99|98) points$/);

  instructor.say({ type: 'next' });
  await shows(page, 'Round 2 of 2');
  await page.reload();
  await shows(page, 'Round 2 of 2');
  assert.equal(await pointsOf(page), points);
  await answer(page, 'infraspinatus');
  await shows(page, 'The round is closed');
  await page.reload();
  await shows(page, 'Your answer “infraspinatus” is recorded.');

  // A tab that was killed is opened anew from its link, by the same device.
  const again = await page.context().newPage();
  await again.goto(`http://${host.address}/?word=${word}`);
  await shows(again, 'Your answer “infraspinatus” is recorded.');
  await shows(page, 'Your seat was taken from another page');
  await inspect(page, 'seat-taken');
  await page.getByRole('button', { name: 'Come back here' }).click();
  await shows(page, 'Your answer “infraspinatus” is recorded.');
  await shows(again, 'Your seat was taken from another page');
  const seats = instructor.heard.filter((message) => message.type === 'roll');
  assert.equal(new Set(seats.flatMap(({ rows }) => rows.map((/** @type {any} */ row) => row.student))).size, 1);
  isSound(page);
  instructor.close();
  await page.context().close();
});

test('an answer given while the network is gone is sent once it is back', async () => {
  const line = await openLine(host.port);
  const { instructor, word } = await openReview(host, { plan: PLAN });
  const page = await joined(browser, { address: line.address, word, name: 'Ana' });
  instructor.say({ type: 'start' });
  await page.locator('#answer').waitFor();

  line.cut();
  await shows(page, /^No connection .*Your seat is kept\.$/);
  assert.match((await page.locator('#urgent').textContent()) ?? '', /No connection/);
  await answer(page, 'teres minor');
  await shows(page, 'Kept here. It is sent as soon as the connection is back.');
  await inspect(page, 'no-connection');
  line.mend();
  await shows(page, 'The round is closed');
  await page.locator('#notices').getByText('No connection').waitFor({ state: 'detached' });
  instructor.say({ type: 'reveal' });
  await shows(page, 'you answered teres minor');
  isSound(page);
  instructor.close();
  await page.context().close();
  await line.close();
});

test('a network that is gone without a word is noticed, and the answer arrives once', async () => {
  const line = await openLine(host.port);
  const { instructor, word } = await openReview(host, { plan: PLAN });
  const page = await joined(browser, { address: line.address, word, name: 'Ana' });
  const other = await joined(browser, { address: host.address, word, name: 'Bo' });
  instructor.say({ type: 'start' });
  await page.locator('#answer').waitFor();

  line.hush();
  await answer(page, 'teres minor');
  await shows(page, 'Sent. Waiting for the server.');
  await shows(page, /^No connection/);
  line.mend();
  await shows(page, 'Recorded: your answer counts.');
  const roll = await instructor.until(
    (message) => message.type === 'tally' && message.answered === 1,
  );
  assert.deepEqual(roll.spread, [{ name: 'teres minor', count: 1, verdict: 'right' }]);
  isSound(page);
  instructor.close();
  await other.context().close();
  await page.context().close();
  await line.close();
});

test('a device that is back on the network takes its own seat again and no other', async () => {
  const { instructor, word } = await openReview(host, { plan: PLAN });
  const page = await joined(browser, { address: host.address, word, name: 'Ana' });
  const anew = async (/** @type {() => void} */ happens) => {
    const opened = page.waitForEvent('websocket');
    await page.evaluate(happens);
    await (await opened).waitForEvent('framereceived');
  };
  await anew(() => dispatchEvent(new Event('online')));
  // The screen goes dark, and is lit again after five seconds of the page's own clock.
  await anew(() => {
    const [clock, lit] = [performance.now.bind(performance), (/** @type {boolean} */ hidden) => {
      Object.defineProperty(document, 'hidden', { configurable: true, get: () => hidden });
      document.dispatchEvent(new Event('visibilitychange'));
    }];
    lit(true);
    performance.now = () => clock() + 5000;
    lit(false);
  });
  instructor.say({ type: 'start' });
  await answer(page, 'teres minor');
  await shows(page, 'The round is closed');

  await page.context().setOffline(true);
  await shows(page, 'No connection (this device has no network)');
  await page.context().setOffline(false);
  await page.locator('#notices').getByText('No connection').waitFor({ state: 'detached' });
  await shows(page, 'Your answer “teres minor” is recorded.');
  assert.equal(await page.getByText('Your seat was taken').count(), 0);
  instructor.close();
  await page.context().close();
});

test('an answer on its way when the page is killed is sent by the next page', async () => {
  const line = await openLine(host.port);
  const { instructor, word } = await openReview(host, { plan: PLAN });
  const page = await joined(browser, { address: line.address, word, name: 'Ana' });
  instructor.say({ type: 'start' });
  await page.locator('#answer').waitFor();
  line.cut();
  await shows(page, /^No connection/);
  await answer(page, 'teres minor');
  await shows(page, 'Kept here.');
  line.mend();
  await page.reload();
  await shows(page, 'Your answer “teres minor” is recorded.');
  instructor.close();
  await page.context().close();
  await line.close();
});

test('what the instructor or the server ends is told, and what to do', async () => {
  const { instructor, word } = await openReview(host, { plan: PLAN });
  const page = await joined(browser, { address: host.address, word, name: 'Ana' });
  await page.getByText('Leave the review').click();
  await page.getByRole('button', { name: 'Leave now' }).click();
  await shows(page, 'You have left the review');
  await inspect(page, 'left');
  await page.getByRole('button', { name: 'Come back here' }).click();
  await shows(page, 'You are back in the seat of');
  await inspect(page, 'came-back');

  const roll = await instructor.until('roll');
  instructor.say({ type: 'remove', student: roll.rows[0].student });
  await shows(page, 'You were taken out of the review');
  await inspect(page, 'removed');
  await page.reload();
  await shows(page, 'Join a review');

  instructor.say({ type: 'end' });
  await instructor.until('ended');
  await page.getByLabel('Your name').fill('Ana');
  await page.getByRole('button', { name: 'Join' }).click();
  await shows(page, 'Ask the instructor for the join word of the next review.');
  await inspect(page, 'review-over');
  isSound(page);
  instructor.close();
  await page.context().close();
});

test('a wrong join word is told at its field, and does not lose what was typed', async () => {
  const page = await openPage(browser, `http://${host.address}/`);
  await page.getByLabel('Join word').fill('Radius');
  await page.getByLabel('Your name').fill('Ana');
  await page.getByRole('button', { name: 'Join' }).click();
  await shows(page, 'A join word is two bone names, such as radius-talus.');
  await page.getByLabel('Join word').fill(' Radius TALUS ');
  await page.getByRole('button', { name: 'Join' }).click();
  await page.locator('#word-fault').filter({ hasText: /\S/ }).waitFor();
  assert.equal(await page.getByLabel('Join word').inputValue(), 'radius-talus');
  assert.equal(await page.getByLabel('Your name').inputValue(), 'Ana');
  assert.equal(await page.evaluate(() => document.activeElement?.id), 'word');
  await inspect(page, 'wrong-word');
  isSound(page);
  await page.context().close();
});

test('a server that stops and starts again has the same review, seat and answer', async () => {
  const own = await startHost();
  const line = await openLine(own.port);
  const { word } = own;
  const page = await joined(browser, { address: line.address, word, name: 'Ana' });
  const other = await joined(browser, { address: line.address, word, name: 'Bo' });
  const first = await Peer.meet(own.address, { type: 'conduct', word, key: own.key });
  first.say({ type: 'start' });
  await answer(page, 'deltoid');
  await shows(page, 'Recorded: your answer counts.');

  line.cut();
  await own.restart();
  await shows(page, /^No connection/);
  line.mend(own.port);
  await page.locator('#notices').getByText('No connection').waitFor({ state: 'detached' });
  await shows(page, 'Recorded: your answer counts.');
  assert.equal(await page.locator('#answer').inputValue(), 'deltoid');
  await answer(other, 'deltoid');
  await shows(page, 'Your answer “deltoid” is recorded.');
  isSound(page);
  first.close();
  await page.context().close();
  await other.context().close();
  await line.close();
  await own.stop();
});

test('what the server cannot do just now is told while it lasts', async () => {
  const { instructor, word } = await openReview(host, { plan: PLAN });
  const page = await openPage(browser, `http://${host.address}/`);
  /** @type {import('playwright-core').WebSocketRoute[]} */
  const routes = [];
  // The server's own words, told at a moment that the test chooses.
  await page.routeWebSocket(/\/live$/, (route) => {
    routes.push(route);
    route.connectToServer();
  });
  await page.goto(`http://${host.address}/?word=${word}`);
  await page.getByLabel('Your name').fill('Ana');
  await page.getByRole('button', { name: 'Join' }).click();
  await shows(page, 'The review begins soon');
  const tell = (/** @type {object} */ message) => routes[0]?.send(JSON.stringify(message));
  tell({ type: 'trouble', trouble: 'cannot_save' });
  await shows(page, 'The server cannot save answers just now.');
  await inspect(page, 'cannot-save');
  tell({ type: 'trouble', trouble: 'saving_again' });
  await shows(page, 'The server can save answers again.');
  await page.getByText('cannot save').waitFor({ state: 'detached' });
  tell({ type: 'a_type_to_come' });
  tell({ type: 'time_changed', time: { kind: 'untimed' } });
  await shows(page, 'You have no time limit.');
  instructor.say({ type: 'start' });
  await shows(page, 'No time limit');
  assert.equal(await page.locator('.timebar').isVisible(), false);
  isSound(page);
  instructor.close();
  await page.context().close();
});

test('refusals of the first message are told with what to do', async () => {
  /** @type {readonly (readonly [string, string, string])[]} */
  const refusals = [
    ['slow_down', 'too many wrong join words', 'Wait a minute, then try again.'],
    ['room_full', 'this review has no seat left', 'Tell the instructor, then try again.'],
    ['not_allowed', 'that is not allowed here', 'Try again; if it stays so, tell the instructor.'],
  ];
  for (const [code, message, todo] of refusals) {
    const page = await openPage(browser, `http://${host.address}/`);
    await page.routeWebSocket(/\/live$/, (route) => {
      route.onMessage(() => {
        route.send(JSON.stringify({ type: 'error', code, message }));
        route.close({ code: 1000 });
      });
    });
    await page.goto(`http://${host.address}/?word=${host.word}`);
    await page.getByLabel('Your name').fill('Ana');
    await page.getByRole('button', { name: 'Join' }).click();
    await shows(page, todo);
    await inspect(page, `refused-${code}`);
    await page.getByRole('button', { name: 'Back' }).click();
    assert.equal(await page.getByLabel('Your name').inputValue(), 'Ana');
    await page.context().close();
  }
});
