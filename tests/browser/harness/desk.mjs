// What tests of the desk have in common: coming to it with the key, students in the test itself.

import { randomUUID } from 'node:crypto';

import { LAPTOP, openPage } from './browser.mjs';
import { Peer } from './peer.mjs';

/** @import { Browser, Page } from 'playwright-core' */
/** @import { Host } from './host.mjs' */

/**
 * The desk, with the key filled in.
 * @param {Browser} browser
 * @param {Host} host
 * @param {{ address?: string, key?: string, options?: import('playwright-core').BrowserContextOptions }} [how]
 */
export async function atDesk(browser, host, { address = host.address, key = host.key, options = LAPTOP } = {}) {
  const page = await openPage(browser, `http://${address}/desk`, options);
  await page.getByLabel('Key', { exact: true }).fill(key);
  return page;
}

/**
 * A review in hand, opened by a peer or on the desk before.
 * @param {Page} page
 * @param {string} word
 */
export async function takeInHand(page, word) {
  await page.getByLabel('Join word').fill(word);
  await page.getByRole('button', { name: 'Take it in hand' }).click();
  await page.getByRole('region', { name: 'Next step' }).waitFor();
}

/**
 * A student who has joined.
 * @param {Host} host
 * @param {string} word
 * @param {string} name
 */
export function student(host, word, name) {
  const hello = { word, name, listed: false, seat: null, person: null, group: null };
  return Peer.meet(host.address, { type: 'join', ...hello });
}

/**
 * Answers, and waits until it is recorded.
 * @param {Peer} peer
 * @param {number} round
 * @param {string} text
 */
export async function answer(peer, round, text) {
  await peer.until((message) => message.type === 'round_opened' && message.round === round);
  peer.say({ type: 'answer', round, attempt: randomUUID(), text, elapsed_ms: 1000 });
  await peer.until('recorded');
}

/**
 * Presses the button of the next step, which must say this.
 * @param {Page} page
 * @param {string | RegExp} label
 */
export async function step(page, label) {
  const button = page.getByRole('region', { name: 'Next step' }).getByRole('button').first();
  await button.filter({ hasText: label }).waitFor();
  await page.waitForFunction(() => document.querySelector('.step .main')?.getAttribute('aria-disabled') === 'false');
  const said = await button.textContent();
  await button.click();
  // A press just after the last step counts as a slip of the finger: pressed again until it is taken.
  await page.waitForFunction(
    (before) => {
      const main = document.querySelector('.step .main');
      const taken = main?.textContent !== before;
      if (!taken && main instanceof HTMLButtonElement) {
        main.click();
      }
      return taken;
    },
    said,
    { polling: 100 },
  );
}
