// Students take their seats: how to join, and who is here.

/**
 * @import { App, View } from './board-app.js'
 * @import { Here } from './wire.js'
 */

import { code, linkOf, typed, unbroken } from './board-join.js';
import { el, fill, named, tell } from './dom.js';
import { count, howItGoes } from './words.js';

/** Signs of names that fit below the code, gaps among them; the names that came last are shown. */
const SIGNS = 1500;
/** From this many signs on, names are set smaller. */
const MANY = 420;

/**
 * Before the first round.
 * @param {App} app
 * @returns {View}
 */
export function gatherView(app) {
  const how = el('div', { class: 'how' });
  const who = el('div', { class: 'who' });
  let [told, called] = ['', ''];
  const update = () => {
    const { seen } = app;
    const says = `${linkOf(seen)} ${seen.others.join(' ')}`;
    if (says !== told) {
      told = says;
      fill(how, join(app));
    }
    const calls = JSON.stringify(seen.here);
    if (calls !== called) {
      called = calls;
      fill(who, ...present(seen.here));
      who.classList.toggle('many', signs(seen.here.names) > MANY);
    }
  };
  app.read('Students can join now.');
  return { title: `Join ${app.seen.review.info.word}`, node: el('div', { class: 'gather' }, how, who), update };
}

/** @param {App} app */
function join({ seen }) {
  const { info } = seen.review;
  const also = seen.others.slice(0, 2).map((address) => typed(seen, address));
  return [
    el(
      'div',
      { class: 'steps' },
      el('h1', {}, 'Join the review'),
      el(
        'dl',
        {},
        el('div', {}, el('dt', {}, 'Open in a browser'), el('dd', { class: 'big' }, typed(seen))),
        also.length > 0 ? el('div', { class: 'note' }, el('dt', {}, 'or'), el('dd', {}, also.join(', '))) : null,
        el('div', {}, el('dt', {}, 'Join word'), el('dd', { class: 'word' }, unbroken(info.word))),
      ),
      el('p', { class: 'note' }, `${count(info.rounds, 'round')}. ${howItGoes(info)}`),
    ),
    el('figure', { class: 'scan' }, code(seen), el('figcaption', {}, linkOf(seen))),
  ];
}

/**
 * Who is here, as far as names may be shown.
 * @param {Here} here
 */
function present({ names, others }) {
  const all = names.length + others;
  const heading = el('h2', {}, all === 0 ? 'Nobody is here yet' : `${count(all, 'student is', 'students are')} here`);
  const shown = last(names);
  const more = names.length - shown.length + others;
  if (all === 0) {
    return [heading];
  }
  const rest = el('li', { class: 'note' });
  tell(rest, shown.length === 0 ? 'no name is shown' : `and ${count(more, 'other')}`);
  return [
    heading,
    el('ul', {}, shown.map((name) => el('li', {}, named(name))), more > 0 ? rest : null),
  ];
}

/** @param {readonly string[]} names */
function signs(names) {
  return names.reduce((sum, name) => sum + [...name].length + 3, 0);
}

/**
 * The names that came last, as many as fit.
 * @param {readonly string[]} names
 */
function last(names) {
  let from = 0;
  for (let left = signs(names); left > SIGNS; from += 1) {
    left -= signs([names[from] ?? '']);
  }
  return names.slice(from);
}
