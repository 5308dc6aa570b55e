// What a screen for a whole room must keep to: everything fits without scrolling on two usual projectors, light
// and dark, and it is still of use on a phone and with large type.

import assert from 'node:assert/strict';

import { hasNoSideScroll, inspect } from './browser.mjs';

/** @import { Page } from 'playwright-core' */

export const HD = { viewport: { width: 1280, height: 720 } };
const FULL_HD = { width: 1920, height: 1080 };
/**
 * The least type that matters on a projector, as a share of its height: one thirtieth is common practice for
 * text (no source), half of it for what is beside the point.
 */
const LEAST = 1 / 60;

/**
 * Looks at the state that a board is in, on both projectors, light and dark, and in a hand.
 * @param {Page} page
 * @param {string} name Of the pictures.
 */
export async function inRoom(page, name) {
  for (const [size, label] of /** @type {const} */ ([[FULL_HD, '1080'], [HD.viewport, '720']])) {
    await page.setViewportSize(size);
    for (const colorScheme of /** @type {const} */ (['dark', 'light'])) {
      await page.emulateMedia({ colorScheme });
      await page.evaluate(() => Promise.all(document.getAnimations().map((one) => one.finished)));
      await inspect(page, `${name}-${label}-${colorScheme}`);
    }
    await fits(page, `${name} at ${label}`);
  }
  await page.setViewportSize({ width: 360, height: 740 });
  await inspect(page, `${name}-phone`);
  await page.setViewportSize(HD.viewport);
  await page.evaluate(() => document.documentElement.style.setProperty('font-size', '200%'));
  await hasNoSideScroll(page, `${name} at 200 % text`);
  await page.evaluate(() => document.documentElement.style.removeProperty('font-size'));
}

/**
 * Fails if the page is higher than the screen, or if text of its main part is too small for a room.
 * @param {Page} page
 * @param {string} name
 */
async function fits(page, name) {
  const { high, least, screen } = await page.evaluate(() => {
    const walker = document.createTreeWalker(document.querySelector('main') ?? document.body, NodeFilter.SHOW_TEXT);
    let least = Infinity;
    for (let node = walker.nextNode(); node; node = walker.nextNode()) {
      const parent = node.parentElement;
      if (parent && node.textContent?.trim() && parent.checkVisibility() && !parent.closest('svg')) {
        least = Math.min(least, parseFloat(getComputedStyle(parent).fontSize));
      }
    }
    return { high: document.documentElement.scrollHeight, least, screen: innerHeight };
  });
  assert.ok(high <= screen, `${name}: ${high} px high on a screen of ${screen}`);
  assert.ok(least >= screen * LEAST, `${name}: text of ${least} px on a screen of ${screen}`);
}
