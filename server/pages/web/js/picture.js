// Draws a picture of a muscle as SVG: bones, the line of pull, origin as a red disc O, insertion as a blue
// square I (hollow behind a bone), the way that the bone goes as an arrow, and labels.
//
//   drawn(picture)              // one picture with the labels that it has, for a clue or a reveal
//   drawnPair(first, second)    // two at the same scale, side by side, each with a key below
//   plate('teres minor', 'musculus teres minor')   // in their place where there is no picture
//
// Each is a <figure>; its words (`text`) are its accessible name and description, and can be opened
// below it. Looks are in base.css, under `.drawing`.

/** @import { Label, Part, Picture, Stroke } from './wire.js' */

import { el, shape } from './dom.js';
import { SEEN } from './words.js';

/** Half the size of a mark, in units of the picture, as in the project's other drawings. */
const MARK = 17;
/** From one base line of a label to the next. */
const LINE = 30;

/** @typedef {readonly [number, number]} Point */
/** @typedef {{ zoom: number, line: (points: readonly number[][]) => Point[], at: (point: readonly number[]) => Point }} Fit */

/**
 * One picture in a figure.
 * @param {Picture} picture
 * @param {string} [name] What stands above it.
 */
export function drawn(picture, name) {
  const { width, height } = picture;
  const svg = canvas(picture, [0, 0, width, height], [
    ...strokes(picture),
    ...(picture.labels ?? []).flatMap((label) => leader(label)),
    ...(picture.labels ?? []).map(words),
  ]);
  return figure(picture, name, svg, null);
}

/**
 * Two pictures of the same scale, each cut to what is drawn of both, with a key to its marks.
 * @param {Picture} first
 * @param {Picture} second
 * @param {readonly [string, string]} names
 */
export function drawnPair(first, second, names) {
  const boxes = [first, second].map(extent);
  const size = [0, 1].map((way) => Math.max(...boxes.map((box) => (box[way + 2] ?? 0))));
  const figures = [first, second].map((picture, index) => {
    const [x = 0, y = 0, w = 0, h = 0] = boxes[index] ?? [];
    const [width = 0, height = 0] = size;
    const box = [x - (width - w) / 2, y - (height - h) / 2, width, height];
    return figure(picture, names[index], canvas(picture, box, strokes(picture)), key(picture));
  });
  return el('div', { class: 'drawings' }, ...figures);
}

/**
 * A plate of text where there is no picture: a name, and its Latin.
 * @param {string} title
 * @param {string} text
 */
export function plate(title, text) {
  return el(
    'figure',
    { class: 'drawing plate' },
    el('p', { class: 'plate-title' }, title),
    el('p', { class: 'latin', lang: 'la' }, text),
  );
}

/**
 * @param {Picture} picture
 * @param {string | undefined} name
 * @param {SVGElement} svg
 * @param {HTMLElement | null} below
 */
function figure(picture, name, svg, below) {
  const covered = picture.strokes.some((stroke) => stroke.behind);
  return el(
    'figure',
    { class: 'drawing' },
    el(
      'figcaption',
      {},
      name ? el('strong', {}, name) : null,
      name ? ', ' : null,
      name ? SEEN[picture.view] : `${SEEN[picture.view][0]?.toUpperCase()}${SEEN[picture.view].slice(1)}`,
    ),
    svg,
    below,
    covered ? el('p', { class: 'note' }, 'Hollow and dotted: behind a bone.') : null,
    el('details', {}, el('summary', {}, 'The picture in words'), el('p', {}, picture.text)),
  );
}

/**
 * @param {Picture} picture
 * @param {readonly number[]} box
 * @param {SVGElement[]} children
 */
function canvas(picture, box, children) {
  const [title, ...text] = picture.text.split('. ');
  return shape(
    'svg',
    { role: 'img', viewBox: box.map(Math.round).join(' '), 'aria-label': title ?? picture.text },
    shape('desc', {}, text.join('. ')),
    ...children,
  );
}

/**
 * What the strokes of a picture take up, with room for marks: x, y, width, height.
 * @param {Picture} picture
 */
function extent(picture) {
  const points = picture.strokes.flatMap((stroke) => stroke.points);
  const [xs, ys] = [points.map(([x = 0]) => x), points.map(([, y = 0]) => y)];
  const [left, top] = [Math.min(...xs) - MARK - 4, Math.min(...ys) - MARK - 4];
  return [left, top, Math.max(...xs) + MARK + 4 - left, Math.max(...ys) + MARK + 4 - top];
}

/**
 * @param {Picture} picture
 * @returns {SVGElement[]}
 */
function strokes(picture) {
  return [
    ...picture.strokes.flatMap((stroke) => drawnStroke(stroke)),
    ...marks(picture, 'origin'),
    ...marks(picture, 'insertion'),
  ];
}

/**
 * @param {Stroke} stroke
 * @returns {SVGElement[]}
 */
function drawnStroke(stroke) {
  const line = path(stroke.points, false);
  switch (stroke.part) {
    case 'bone':
    case 'neighbour': {
      const rings = [stroke.points, ...(stroke.holes ?? [])];
      return [shape('path', { class: stroke.part, d: rings.map((ring) => path(ring, true)).join('') })];
    }
    case 'muscle':
      return stroke.behind
        ? [shape('path', { class: 'pull behind', d: line })]
        : [shape('path', { class: 'edge', d: line }), shape('path', { class: 'pull', d: line })];
    case 'motion':
      return arrow(stroke.points);
    case 'joint':
      return stroke.points.flatMap(([x = 0, y = 0]) => [
        shape('circle', { class: 'joint', cx: x, cy: y, r: 9 }),
        shape('path', { class: 'lead', d: `M${x - 9} ${y}h18M${x} ${y - 9}v18` }),
      ]);
    case 'origin':
    case 'insertion':
      return [];
  }
}

/**
 * @param {readonly number[][]} points
 * @returns {SVGElement[]}
 */
function arrow(points) {
  const [tip, before] = [...points].reverse();
  if (!tip || !before) {
    return [];
  }
  const [x = 0, y = 0] = tip;
  const far = Math.max(apart(before, tip), 1e-6);
  const back = [((before[0] ?? 0) - x) / far, ((before[1] ?? 0) - y) / far];
  const [bx = 0, by = 0] = back;
  /** @param {number} along @param {number} across */
  const at = (along, across) => [x + bx * along - by * across, y + by * along + bx * across];
  // The shaft ends in the head.
  const shaft = path([...points.filter((point) => apart(point, tip) > 16), at(14, 0)], false);
  const head = path([tip, at(26, 13), at(14, 0), at(26, -13)], true);
  return [
    shape('path', { class: 'edge', d: shaft }),
    shape('path', { class: 'go', d: shaft }),
    shape('path', { class: 'head', d: head }),
  ];
}

/**
 * The marks of origins or insertions. Where one would cover another of its kind only the first has its letter.
 * @param {Picture} picture
 * @param {'origin' | 'insertion'} part
 * @returns {SVGElement[]}
 */
function marks(picture, part) {
  /** @type {number[][]} */
  const lettered = [];
  /** @type {SVGElement[]} */
  const small = [];
  /** @type {SVGElement[]} */
  const large = [];
  for (const stroke of picture.strokes.filter((one) => one.part === part)) {
    for (const at of stroke.points) {
      if (lettered.some((other) => apart(other, at) < 2 * MARK)) {
        small.push(mark(part, stroke.behind === true, at, MARK * 0.6));
      } else {
        lettered.push(at);
        large.push(...letteredMark(part, stroke.behind === true, at));
      }
    }
  }
  return [...small, ...large];
}

/**
 * @param {'origin' | 'insertion'} part
 * @param {boolean} behind
 * @param {readonly number[]} at
 * @returns {SVGElement[]}
 */
function letteredMark(part, behind, [x = 0, y = 0]) {
  const letter = part === 'origin' ? 'O' : 'I';
  const kind = `letter ${behind ? `on-${part}` : ''}`;
  return [
    mark(part, behind, [x, y], MARK),
    shape('text', { class: kind, x, y: y + 9, 'text-anchor': 'middle' }, letter),
  ];
}

/**
 * @param {'origin' | 'insertion'} part
 * @param {boolean} behind
 * @param {readonly number[]} at
 * @param {number} r
 */
function mark(part, behind, [x = 0, y = 0], r) {
  const kind = behind ? `${part} far` : part;
  return part === 'origin'
    ? shape('circle', { class: kind, cx: x, cy: y, r })
    : shape('rect', { class: kind, x: x - r, y: y - r, width: 2 * r, height: 2 * r });
}

/**
 * The line from what is named to the middle of the nearer end of its words.
 * @param {Label} label
 * @returns {SVGElement[]}
 */
function leader(label) {
  const [x = 0, y = 0] = label.text_at;
  const end = [label.right ? x - 4 : x + 4, y - 9 + ((label.lines.length - 1) * LINE) / 2];
  const gap = label.part === 'origin' || label.part === 'insertion' ? MARK : 6;
  const far = apart(label.at, end);
  if (far <= gap + 8) {
    return [];
  }
  const [ax = 0, ay = 0] = label.at;
  const part = gap / far;
  const start = [ax + ((end[0] ?? 0) - ax) * part, ay + ((end[1] ?? 0) - ay) * part];
  return [shape('path', { class: 'lead', d: path([start, end], false) })];
}

/** @param {Label} label */
function words(label) {
  const [x = 0, y = 0] = label.text_at;
  const kind = label.part === 'muscle' ? 'label name' : 'label';
  return shape(
    'text',
    { class: kind, 'text-anchor': label.right ? 'start' : 'end' },
    label.lines.map((line, row) => shape('tspan', { x, y: y + row * LINE }, line)),
  );
}

/**
 * What the marks and the arrow of a picture stand for.
 * @param {Picture} picture
 */
function key(picture) {
  const rows = (picture.labels ?? []).filter((label) => label.part !== 'muscle');
  return el(
    'ul',
    { class: 'key' },
    rows.map((label) => el('li', {}, sample(label.part), label.lines.join(' '))),
  );
}

/** @param {Part} part */
function sample(part) {
  const attributes = { class: 'sample', viewBox: '-22 -22 44 44', 'aria-hidden': 'true' };
  if (part === 'origin' || part === 'insertion') {
    return shape('svg', attributes, ...letteredMark(part, false, [0, 0]));
  }
  if (part === 'motion') {
    return shape('svg', attributes, ...arrow([[-20, 0], [0, 0], [20, 0]]));
  }
  return shape('svg', attributes);
}

/**
 * @param {readonly (readonly number[])[]} points
 * @param {boolean} closed
 */
function path(points, closed) {
  /** @param {number} number */
  const short = (number) => String(Math.round(number * 10) / 10);
  const steps = points.map(([x = 0, y = 0], index) => `${index === 0 ? 'M' : 'L'}${short(x)} ${short(y)}`);
  return steps.join('') + (closed ? 'Z' : '');
}

/**
 * @param {readonly number[]} a
 * @param {readonly number[]} b
 */
function apart([ax = 0, ay = 0], [bx = 0, by = 0]) {
  return Math.hypot(ax - bx, ay - by);
}
