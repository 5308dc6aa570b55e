// Prints what the student's page and all that it loads weigh over the wire with gzip, and fails over the budget.

import { readFile } from 'node:fs/promises';
import { gzipSync } from 'node:zlib';

const WEB = new URL('../../../server/pages/web/', import.meta.url);
/** Bytes with gzip. On a mobile network of the slowest kind that browsers simulate (400 kbit/s), about a second. */
const BUDGET = 60_000;

/**
 * A page, and the styles and scripts that it names; every script that those import must be among them, so that
 * none is found late.
 * @param {string} page
 */
async function loaded(page) {
  const html = await readFile(new URL(page, WEB), 'utf8');
  const named = [...html.matchAll(/\{assets\}\/([\w./-]+)/g)].map(([, path]) => path ?? '');
  const files = [page, ...new Set(named)];
  const texts = await Promise.all(files.map((file) => readFile(new URL(file, WEB), 'utf8')));
  const imports = texts.flatMap((text) =>
    [...text.matchAll(/^import .*?from '\.\/([\w-]+\.js)';/gms)].map(([, path]) => `js/${path}`),
  );
  const late = imports.find((path) => !files.includes(path));
  if (late) {
    throw new Error(`${page} does not name ${late}, which a script imports.`);
  }
  return files.map((file, at) => ({ file, bytes: gzipSync(texts[at] ?? '', { level: 9 }).length }));
}

const files = await loaded('index.html');
const total = files.reduce((sum, { bytes }) => sum + bytes, 0);
for (const { file, bytes } of files) {
  console.log(`${String(bytes).padStart(6)}  ${file}`);
}
console.log(`${String(total).padStart(6)}  bytes with gzip in ${files.length} files; at most ${BUDGET}`);
if (total > BUDGET) {
  process.exit(1);
}
