// A browser, pages in it, and what every page must keep to: nothing from elsewhere, no fault in the console,
// nothing that axe finds, no horizontal scroll.

import assert from 'node:assert/strict';
import { mkdir, readFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import { chromium } from 'playwright-core';

import { DEADLINE } from './peer.mjs';

/** @import { Browser, BrowserContextOptions, Page } from 'playwright-core' */

const FLAGS = [
  '--headless',
  '--no-sandbox',
  '--disable-gpu',
  '--disable-quic',
  '--no-first-run',
  '--disable-background-networking',
  '--disable-component-update',
  '--disable-sync',
];
const SHOTS = new URL('../shots/', import.meta.url);
const AXE = await readFile(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
/** WCAG 2.2 A and AA, and what is good practice. */
const RULES = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'];

export const PHONE = { viewport: { width: 360, height: 740 }, hasTouch: true, isMobile: true };
export const LAPTOP = { viewport: { width: 1280, height: 800 } };

/** Starts the system's Chromium, or that of `CHROMIUM_BIN`, with a profile of its own. */
export function launch() {
  return chromium.launch({
    executablePath: process.env['CHROMIUM_BIN'] ?? '/usr/bin/chromium',
    args: FLAGS,
  });
}

/**
 * A page in a context of its own: another device. Anything in its console that is a fault, and any request to
 * elsewhere, is remembered for `isSound`.
 * @param {Browser} browser
 * @param {string} url
 * @param {BrowserContextOptions} [options]
 * @returns {Promise<Page>}
 */
export async function openPage(browser, url, options = PHONE) {
  const context = await browser.newContext({ reducedMotion: 'no-preference', ...options });
  const page = await context.newPage();
  page.setDefaultTimeout(DEADLINE);
  watch(page);
  await page.goto(url);
  return page;
}

/** @type {WeakMap<Page, string[]>} */
const faults = new WeakMap();

/** @param {Page} page */
function watch(page) {
  /** @type {string[]} */
  const found = [];
  faults.set(page, found);
  page.on('pageerror', (fault) => found.push(`${fault}`));
  page.on('console', (message) => {
    // A connection that is lost is written there by the browser itself.
    const lost = /WebSocket connection|Failed to load resource: net::/.test(message.text());
    if (message.type() === 'error' && !lost) {
      found.push(message.text());
    }
  });
  page.on('request', (request) => {
    if (!/^(data:|blob:|(http|ws)s?:\/\/127\.0\.0\.1[:/])/.test(request.url())) {
      found.push(`request to ${request.url()}`);
    }
  });
}

/**
 * Fails if the page had a fault since it was opened.
 * @param {Page} page
 */
export function isSound(page) {
  assert.deepEqual(faults.get(page), [], 'no faults in the console, no request to elsewhere');
}

/**
 * Fails on anything that axe finds, and on horizontal scroll; takes a picture into `shots/`.
 * @param {Page} page
 * @param {string} name Of the picture.
 */
export async function inspect(page, name) {
  await mkdir(SHOTS, { recursive: true });
  await page.screenshot({ path: new URL(`${name}.png`, SHOTS).pathname, fullPage: true });
  // A bar that stays in sight covers part of a button wherever the last click happened to scroll to.
  await page.evaluate(() => window.scrollTo(0, 0));
  await page.evaluate(AXE);
  const violations = await page.evaluate(async (rules) => {
    // @ts-expect-error: axe is a global of the page now.
    const result = await window.axe.run(document, { runOnly: { type: 'tag', values: rules } });
    return result.violations.map((/** @type {any} */ violation) => {
      const nodes = violation.nodes.map((/** @type {any} */ node) => `${node.html} ${node.failureSummary}`);
      return `${violation.id}: ${nodes.join('; ')}`;
    });
  }, RULES);
  assert.deepEqual(violations, [], `${name}: axe finds nothing`);
  await hasNoSideScroll(page, name);
}

/**
 * @param {Page} page
 * @param {string} name
 */
export async function hasNoSideScroll(page, name) {
  const [scroll, width] = await page.evaluate(() => [
    document.documentElement.scrollWidth,
    document.documentElement.clientWidth,
  ]);
  assert.ok(Number(scroll) <= Number(width), `${name}: ${scroll} px wide in ${width}`);
}

/**
 * The same state in other circumstances: dark, large type, a narrow window; each is looked at.
 * @param {Page} page
 * @param {string} name
 */
export async function inspectAll(page, name) {
  const size = page.viewportSize() ?? PHONE.viewport;
  await inspect(page, `${name}-light`);
  await page.emulateMedia({ colorScheme: 'dark' });
  await inspect(page, `${name}-dark`);
  await page.emulateMedia({ colorScheme: 'light' });
  await page.setViewportSize({ width: 320, height: size.height });
  await hasNoSideScroll(page, `${name} at 320 px`);
  await page.setViewportSize(LAPTOP.viewport);
  await inspect(page, `${name}-wide`);
  await page.setViewportSize(size);
  await page.evaluate(() => document.documentElement.style.setProperty('font-size', '200%'));
  await hasNoSideScroll(page, `${name} at 200 % text`);
  await page.evaluate(() => document.documentElement.style.removeProperty('font-size'));
}
