// What tests of the student's page do over and over.

import { PHONE, openPage } from './browser.mjs';

/** @import { Browser, BrowserContextOptions, Page } from 'playwright-core' */

/**
 * A page that has joined a review.
 * @param {Browser} browser
 * @param {{ address: string, word: string, name: string, listed?: boolean, options?: BrowserContextOptions }} who
 */
export async function joined(browser, { address, word, name, listed = true, options = PHONE }) {
  const page = await openPage(browser, `http://${address}/?word=${word}`, options);
  await page.getByLabel('Your name').fill(name);
  if (listed) {
    await page.getByLabel('Show my name').check();
  }
  await page.getByRole('button', { name: 'Join' }).click();
  await page.locator('#top bdi').waitFor();
  return page;
}

/**
 * Types an answer and sends it.
 * @param {Page} page
 * @param {string} text
 */
export async function answer(page, text) {
  await page.locator('#answer').fill(text);
  await page.getByRole('button', { name: 'Send' }).click();
}

/**
 * Waits until the page says this in its view, not only to a screen reader.
 * @param {Page} page
 * @param {string | RegExp} text
 */
export async function shows(page, text) {
  await page.locator('#top, #notices, main, #group').getByText(text).first().waitFor();
}

/**
 * Points as the heading has them.
 * @param {Page} page
 */
export async function pointsOf(page) {
  return (await page.locator('#top .where .note').textContent()) ?? '';
}
