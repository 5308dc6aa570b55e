// What the tests of a file play in: a host and a browser, there before the first and gone after the last.

import { after, before } from 'node:test';

import { launch } from './browser.mjs';
import { startHost } from './host.mjs';

/** @type {import('./host.mjs').Host} */
export let host;
/** @type {import('playwright-core').Browser} */
export let browser;

before(async () => {
  [host, browser] = [await startHost(), await launch()];
});

after(async () => {
  await browser?.close();
  await host?.stop();
});
