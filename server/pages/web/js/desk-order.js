// The order of muscles on a map of confusions: those that are taken for each other stand side by side.

/** @import { MapCell } from './wire.js' */

/**
 * The muscles of a map in an order in which the strongest confusions are neighbours, as far as a line allows:
 * links are taken from the strongest on, each joining two chains at their ends. Chains that have nothing in
 * common stand apart, the strongest first.
 * @param {readonly MapCell[]} cells
 * @returns {string[]}
 */
export function inOrder(cells) {
  const links = linksOf(cells);
  /** @type {Map<string, string[]>} */
  const chainOf = new Map();
  for (const { a, b } of links) {
    for (const name of [a, b]) {
      chainOf.set(name, chainOf.get(name) ?? [name]);
    }
    const [one = [], other = []] = [chainOf.get(a), chainOf.get(b)];
    if (one !== other && isEnd(one, a) && isEnd(other, b)) {
      const head = one.at(-1) === a ? one : [...one].reverse();
      const joined = [...head, ...(other[0] === b ? other : [...other].reverse())];
      joined.forEach((name) => chainOf.set(name, joined));
    }
  }
  return lined([...new Set(chainOf.values())], links).flat();
}

/** @typedef {{ a: string, b: string, weight: number }} Link */

/**
 * Both directions of a pair together, strongest first.
 * @param {readonly MapCell[]} cells
 * @returns {Link[]}
 */
function linksOf(cells) {
  /** @type {Map<string, Link>} */
  const links = new Map();
  for (const { asked, said, count, of } of cells) {
    const [a = '', b = ''] = [asked, said].sort();
    const link = links.get(`${a}\n${b}`) ?? { a, b, weight: 0 };
    links.set(`${a}\n${b}`, { ...link, weight: link.weight + (of > 0 ? count / of : 0) });
  }
  return [...links.values()].sort((one, other) => other.weight - one.weight || (one.a + one.b < other.a + other.b ? -1 : 1));
}

/**
 * @param {string[]} chain
 * @param {string} name
 */
function isEnd(chain, name) {
  return chain[0] === name || chain.at(-1) === name;
}

/**
 * Chains one after the other: the strongest, then always the one most confused with those that stand.
 * @param {string[][]} chains
 * @param {Link[]} links
 */
function lined(chains, links) {
  /** @type {string[][]} */
  const line = [];
  const left = [...chains];
  while (left.length > 0) {
    const standing = new Set(line.flat());
    const strength = (/** @type {string[]} */ chain) => {
      const own = new Set(chain);
      let [within, across] = [0, 0];
      for (const { a, b, weight } of links) {
        within += own.has(a) && own.has(b) ? weight : 0;
        across += (own.has(a) && standing.has(b)) || (own.has(b) && standing.has(a)) ? weight : 0;
      }
      return across * 1_000 + within;
    };
    const strongest = left.reduce((best, chain) => (strength(chain) > strength(best) ? chain : best));
    line.push(strongest);
    left.splice(left.indexOf(strongest), 1);
  }
  return line;
}
