// A student in a terminal: the real program in a terminal of its own, made by script (util-linux).

import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';

import headless from '@xterm/headless';

import { BUILT } from './host.mjs';
import { DEADLINE } from './peer.mjs';

/** The program; it stands beside the host's. */
const PROGRAM = join(dirname(BUILT), 'myonym-play');

/**
 * Joins a review from a terminal of 80 columns and 24 lines.
 * @param {string} link
 * @param {string} name
 */
export async function inTerminal(link, name) {
  const home = await mkdtemp(join(tmpdir(), 'myonym-terminal-'));
  const command = `stty cols 80 rows 24; exec ${quoted(PROGRAM)} --listed --name ${quoted(name)} ${quoted(link)}`;
  const child = spawn('script', ['-qfec', command, '/dev/null'], {
    env: { ...process.env, HOME: home, TERM: 'xterm', NO_COLOR: '1' },
  });
  const ended = once(child, 'exit');
  const screen = new headless.Terminal({ cols: 80, rows: 24, allowProposedApi: true });
  child.stdout.on('data', (part) => screen.write(part));
  return {
    /**
     * Waits until this stands on the screen, on one line or broken where words end.
     * @param {string} text
     */
    async shows(text) {
      const until = performance.now() + DEADLINE;
      while (!textOf(screen).includes(text)) {
        if (performance.now() > until) {
          throw new Error(`The terminal does not show ${text}, but ${textOf(screen)}`);
        }
        await new Promise((later) => setTimeout(later, 50));
      }
    },
    /** @param {string} text Typed, and sent with Enter. */
    types(text) {
      child.stdin.write(`${text}\r`);
    },
    /** Ends it as a closed window does. */
    async close() {
      child.kill('SIGKILL');
      child.stdin.destroy();
      await ended;
      await rm(home, { recursive: true, force: true });
    },
  };
}

/** @param {import('@xterm/headless').Terminal} screen */
function textOf(screen) {
  const { active } = screen.buffer;
  const lines = Array.from({ length: screen.rows }, (_, row) => active.getLine(row)?.translateToString(true) ?? '');
  return lines.join(' ').replace(/\s+/g, ' ');
}

/** @param {string} text */
function quoted(text) {
  return `'${text.replaceAll("'", `'\\''`)}'`;
}
