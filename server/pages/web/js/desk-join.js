// How students join, and the board for the room.

/** @import { App } from './desk-app.js' */

import { part } from './desk-part.js';
import { el, show } from './dom.js';

/** As many addresses as anyone reads. */
const MOST_LINKS = 3;

/**
 * The same twice: large while students gather, folded away after.
 * @param {App} app
 */
export function joinPanel(app) {
  return { large: large(app), small: small(app) };
}

/** @param {App} app */
function large(app) {
  const node = el('section', { class: 'join' });
  const fresh = part(node);
  const update = () => {
    const { review, links } = app.held;
    const gathering = review.stage.phase === 'gathering';
    show(node, gathering);
    fresh([gathering, links.join()], () => (gathering ? [el('h2', {}, 'How to join'), ...how(app)] : null));
  };
  return { node, update };
}

/** @param {App} app */
function small(app) {
  const body = el('div', { class: 'join' });
  const node = el('details', { class: 'folded' }, el('summary', {}, 'How to join, and the board'), body);
  const fresh = part(body);
  const update = () => {
    const { review, links } = app.held;
    const running = review.stage.phase !== 'gathering' && review.stage.phase !== 'ended';
    show(node, running);
    fresh([running, links.join()], () => (running ? how(app) : null));
  };
  return { node, update };
}

/** @param {App} app */
function how(app) {
  const { review, links } = app.held;
  const { word } = review.info;
  const [best = ''] = links;
  const addresses = links.slice(0, MOST_LINKS).map((link) => {
    const { host, protocol } = new URL(link);
    // As it has to be typed.
    return el('li', {}, protocol === 'https:' ? `https://${host}` : host);
  });
  return [
    el('div', { class: 'ways' },
      el('div', {},
        el('p', { class: 'label' }, 'Join word'),
        el('p', { class: 'word' }, word),
        el('p', { class: 'label' }, links.length > 1 ? 'Address, one of' : 'Address'),
        el('ul', { class: 'addresses' }, addresses),
        el('p', { class: 'label' }, 'Or the link'),
        el('p', { class: 'link' }, best)),
      el('img', { class: 'scan', src: `/qr.svg?link=${encodeURIComponent(best)}`, width: 176, height: 176, alt: `Code to scan for ${best}` })),
    el('p', {},
      el('a', { class: 'button', href: `/board?word=${encodeURIComponent(word)}`, target: '_blank', rel: 'noopener' },
        'Open the board in a new window')),
    el('p', { class: 'note' }, 'The board is for the room’s screen: it shows what the class may see.'),
  ];
}
