// Everyone in one room: the desk, the board, a student on a phone, one who loads the page anew in mid-round, and
// one in a terminal. All see the same race.

import assert from 'node:assert/strict';
import { test } from 'node:test';

import { LAPTOP, isSound, openPage } from '../harness/browser.mjs';
import { atDesk, step, takeInHand } from '../harness/desk.mjs';
import { openReview, planOf } from '../harness/peer.mjs';
import { HD } from '../harness/room.mjs';
import { browser, host } from '../harness/setting.mjs';
import { answer, joined, shows } from '../harness/student.mjs';
import { inTerminal } from '../harness/terminal.mjs';

test('a whole review with desk, board, phone, laptop and terminal', async () => {
  const plan = planOf([{ muscle: 'teres minor' }, { muscle: 'deltoid' }], 'limit = "10m"');
  const { instructor, word } = await openReview(host, { plan });
  const { address } = host;
  const desk = await atDesk(browser, host);
  await takeInHand(desk, word);
  const board = await openPage(browser, `http://${address}/board?word=${word}`, HD);
  const ana = await joined(browser, { address, word, name: 'Ana' });
  const bo = await joined(browser, { address, word, name: 'Bo', options: LAPTOP });
  const cleo = await inTerminal(`http://${address}/?word=${word}`, 'Cleo');
  await board.getByText('3 students are here').waitFor();
  await cleo.shows('The review begins soon');

  await step(desk, 'Start');
  const clue = await firstClue(board);
  await shows(ana, clue);
  await shows(bo, clue);
  await cleo.shows(clue);
  await answer(ana, 'teres minor');
  await board.getByText('1 of 3 have answered').or(board.getByText('1 of 3 has answered')).first().waitFor();
  await bo.reload();
  await shows(bo, clue);
  await answer(bo, 'teres minor');
  await board.getByText('2 of 3 have answered').waitFor();
  for (const page of [board, ana, bo]) {
    assert.equal(await page.getByText('near-miss').count(), 0, 'nothing of the answer before the reveal');
  }
  cleo.types('teres major');
  await cleo.shows('closed');
  await shows(ana, 'The round is closed');
  await step(desk, 'Show the answer');
  await board.getByRole('heading', { name: 'teres minor' }).first().waitFor();
  await board.getByText('near-miss').first().waitFor();
  await shows(ana, 'place 1 of 3');
  await shows(bo, 'place 2 of 3');
  await cleo.shows('teres minor');
  await cleo.shows('near-miss');
  await cleo.shows('3 of 3');

  await rename(desk, 'Bo', 'Bo Reed');
  await shows(bo, 'The instructor has changed your name to Bo Reed.');
  await board.getByText('Bo Reed').first().waitFor();

  await step(desk, 'Open round 2');
  await answer(ana, 'deltoid');
  await answer(bo, 'deltoid');
  cleo.types('deltoid');
  await shows(ana, 'The round is closed');
  await step(desk, 'Show the answer');
  await step(desk, 'Finish the review');
  for (const page of [board, ana, bo]) {
    await page.getByRole('heading', { name: 'The review is over' }).waitFor();
    isSound(page);
  }
  await cleo.shows('The review is over');
  await board.getByText('teres minor → teres major').first().waitFor();
  isSound(desk);
  instructor.close();
  await cleo.close();
  await Promise.all([desk, board, ana, bo].map((page) => page.context().close()));
});

/** @param {import('playwright-core').Page} board */
async function firstClue(board) {
  const clue = board.locator('main ol li').first();
  await clue.waitFor();
  const said = (await clue.innerText()).split('\n').filter((line) => line.trim() !== '');
  return said.at(-1) ?? '';
}

/**
 * @param {import('playwright-core').Page} desk
 * @param {string} from
 * @param {string} to
 */
async function rename(desk, from, to) {
  await desk.getByRole('button', { name: 'Show names and answers' }).click();
  await desk.getByRole('button', { name: from, exact: true }).click();
  await desk.getByLabel('Name', { exact: true }).fill('');
  await desk.getByRole('button', { name: 'Change the name' }).click();
  await desk.getByText('A name has 1 to 24 characters.').waitFor();
  await desk.getByLabel('Name', { exact: true }).fill(to);
  await desk.getByRole('button', { name: 'Change the name' }).click();
  await desk.getByRole('button', { name: to, exact: true }).waitFor();
}
