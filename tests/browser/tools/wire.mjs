// Makes the types of the wire, server/pages/web/js/wire.d.ts, from the schemas in
// server/wire/schema. With --check it writes nothing and fails where the two differ.

import { readFile, writeFile } from 'node:fs/promises';
import { compile } from 'json-schema-to-typescript';

const SCHEMAS = new URL('../../../server/wire/schema/', import.meta.url);
const TYPES = new URL('../../../server/pages/web/js/wire.d.ts', import.meta.url);
const HEAD = `// The messages between pages and server, made from server/wire/schema: do not edit.
// Anew: npm run wire, in tests/browser.
`;

/** Names of the schema files, and of the type that each describes. */
const ROOTS = {
  hello: 'Hello',
  from_student: 'FromStudent',
  to_student: 'ToStudent',
  from_instructor: 'FromInstructor',
  to_instructor: 'ToInstructor',
  to_board: 'ToBoard',
};

/**
 * A `$ref` beside properties means both (JSON Schema 2020-12, core, 8.2.3.1); the library knows the older
 * meaning, the reference alone.
 * @param {any} node
 * @returns {any}
 */
function spread(node) {
  if (Array.isArray(node)) {
    return node.map(spread);
  }
  if (node === null || typeof node !== 'object') {
    return node;
  }
  const { $ref, ...rest } = Object.fromEntries(
    Object.entries(node).map(([key, value]) => [key, spread(value)]),
  );
  if ($ref === undefined) {
    return rest;
  }
  // A description beside a reference would make a type of its own of it.
  return rest.properties ? { allOf: [{ $ref }, rest] } : { $ref };
}

/** All schemas as one, so that what they share is one type. */
async function together() {
  /** @type {Record<string, any>} */
  const defs = {};
  for (const [file, name] of Object.entries(ROOTS)) {
    const schema = JSON.parse(await readFile(new URL(`${file}.json`, SCHEMAS), 'utf8'));
    const { $defs, $schema: _, title: __, ...root } = schema;
    Object.assign(defs, $defs, { [name]: root });
  }
  const names = Object.values(ROOTS);
  const properties = Object.fromEntries(
    names.map((name) => [name, { $ref: `#/$defs/${name}` }]),
  );
  return spread({
    title: 'Wire',
    description: 'All messages, by their direction.',
    type: 'object',
    properties,
    required: names,
    $defs: defs,
  });
}

const made = await compile(await together(), 'Wire', {
  additionalProperties: false,
  bannerComment: HEAD,
  unreachableDefinitions: true,
});
if (process.argv.includes('--check')) {
  const kept = await readFile(TYPES, 'utf8').catch(() => '');
  if (kept !== made) {
    console.error('server/pages/web/js/wire.d.ts is not what the schemas say: npm run wire');
    process.exit(1);
  }
} else {
  await writeFile(TYPES, made);
}
