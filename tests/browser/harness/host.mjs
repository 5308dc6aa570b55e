// A real host in a process of its own, on a free port, with a data folder of its own.

import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdtemp, open, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { fileURLToPath } from 'node:url';

/** The host's program: that of `MYONYM_BIN`, or the debug build. */
export const BUILT =
  process.env['MYONYM_BIN'] ?? fileURLToPath(new URL('../../../target/debug/myonym', import.meta.url));

/**
 * @typedef {object} Host
 * @property {number} port
 * @property {string} address Host and port.
 * @property {string} key The host's key.
 * @property {string} word The join word of its own review.
 * @property {() => Promise<void>} restart Stops it and starts it on the same data, at another port.
 * @property {() => Promise<void>} stop
 */

/**
 * Starts a host. Stop it after use.
 * @param {string[]} [options] Of `myonym host`.
 * @returns {Promise<Host>}
 */
export async function startHost(options = []) {
  const folder = await mkdtemp(join(tmpdir(), 'myonym-browser-'));
  let run = await launch(folder, options);
  const { address, key, word } = run.printed;
  const host = { port: portOf(address), address, key, word, restart, stop };
  return host;

  async function restart() {
    await run.end();
    run = await launch(folder, options);
    host.address = run.printed.address;
    host.port = portOf(host.address);
  }

  async function stop() {
    await run.end();
    await rm(folder, { recursive: true });
  }
}

/**
 * @param {string} folder
 * @param {string[]} options
 */
async function launch(folder, options) {
  const log = await open(join(folder, 'operations.log'), 'a');
  const at = ['--address', '127.0.0.1', '--port', '0', '--data', join(folder, 'data')];
  const child = spawn(BUILT, ['host', '--headless', ...at, ...options], {
    stdio: ['ignore', 'pipe', log.fd],
  });
  const ended = once(child, 'exit');
  const end = async () => {
    child.kill('SIGTERM');
    await ended;
    await log.close();
  };
  try {
    const out = /** @type {import('node:stream').Readable} */ (child.stdout);
    return { printed: await readPrinted(out), end };
  } catch (fault) {
    await end();
    throw fault;
  }
}

/** @param {string} address */
function portOf(address) {
  return Number(address.split(':').at(-1));
}

/**
 * Reads the labelled lines that a host prints, up to its key.
 * @param {import('node:stream').Readable} out
 */
async function readPrinted(out) {
  const printed = { address: '', key: '', word: '' };
  for await (const line of createInterface(out)) {
    const [label = '', ...value] = line.split(/\s+/);
    if (label in printed) {
      printed[/** @type {keyof typeof printed} */ (label)] = value.join(' ');
    }
    if (label === 'key') {
      out.resume();
      return printed;
    }
  }
  throw new Error('The host ended at its start.');
}
