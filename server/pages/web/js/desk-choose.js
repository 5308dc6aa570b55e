// What a review asks about: a muscle list of the server, one of one's own, or a plan, which can be proposed.

/** @import { App } from './desk-app.js' */

import { choices, chosen, field, text } from './desk-fields.js';
import { withLists } from './desk-report.js';
import { el, show, tell } from './dom.js';

/** @typedef {'list' | 'own' | 'plan'} Source */

/**
 * What was chosen: at most one of the texts is empty where it is needed.
 * @typedef {{ source: Source, list: string, own: string, plan: string }} Chosen
 */

/**
 * @param {App} app
 */
export function choosing(app) {
  const source = choices('radio', 'source', 'What it asks about', SOURCES, ['list']);
  const list = chosen('list', 'Muscle list', [['shoulder', 'shoulder']]);
  withLists(list.input, 'shoulder');
  const own = text('own', 'A muscle list of your own', {
    hint: 'A muscle on each line, in any form that a student might type. Settings such as name: or level: come first.',
    placeholder: 'name: Upper limb practical\n\nteres minor\nM. deltoideus\nlats',
  });
  const plan = text('plan', 'The plan', {
    hint: 'Its rounds are held in their order. Change what you like.',
    placeholder: 'list = "shoulder"\n\n[[round]]\nmuscle = "teres minor"',
  });
  const proposing = proposal(app, plan);
  const planned = el('div', {}, proposing, plan.node);
  const seen = () => {
    const [at] = source.read();
    show(list.node, at === 'list');
    // A plan may name a list that is not the server's.
    show(own.node, at === 'own' || (at === 'plan' && own.input.value !== ''));
    show(planned, at === 'plan');
  };
  const forPlan = el('button', { type: 'button', class: 'plain' }, 'The plan is for a list of my own');
  forPlan.addEventListener('click', () => {
    show(own.node, true);
    own.input.focus();
  });
  planned.append(forPlan);
  source.node.addEventListener('change', seen);
  seen();
  return {
    node: el('div', {}, source.node, list.node, planned, own.node),
    /** @returns {Chosen} */
    read: () => {
      const [at = 'list'] = source.read();
      return { source: at, list: list.input.value, own: at === 'list' ? '' : own.input.value, plan: at === 'plan' ? plan.input.value : '' };
    },
    list,
    own,
    plan,
  };
}

/**
 * Asks the server for a plan, by what was held on it.
 * @param {App} app
 * @param {ReturnType<typeof text>} plan Where it goes.
 */
function proposal(app, plan) {
  const list = chosen('plan-list', 'For the muscle list', [['', 'that of the latest review']]);
  withLists(list.input);
  const section = field('plan-section', 'By reviews of the section', { maxlength: 40, dir: 'auto' });
  const rounds = field('plan-rounds', 'Rounds', { type: 'number', min: 1, max: 500 });
  const said = el('p', { class: 'note', role: 'status' });
  const button = el('button', { type: 'button' }, 'Propose a plan');
  button.addEventListener('click', async () => {
    tell(said, 'Asking the server …');
    const asked = { list: list.input.value, section: section.input.value.trim(), rounds: rounds.input.value };
    const answer = await proposed({ key: app.key, ...asked });
    if (answer.text !== null) {
      plan.input.value = answer.text;
      plan.blame('');
    }
    tell(said, answer.said);
  });
  return el(
    'details',
    { class: 'propose' },
    el('summary', {}, 'Have a plan proposed from the reviews held so far'),
    el('div', { class: 'fields' }, list.node, section.node, rounds.node),
    el('p', {}, button),
    said,
  );
}

/**
 * @param {Record<string, string>} asked
 * @returns {Promise<{ text: string | null, said: string }>}
 */
async function proposed(asked) {
  const answer = await fetch('/desk/plan', { method: 'POST', body: new URLSearchParams(asked) }).catch(() => null);
  if (!answer) {
    return { text: null, said: 'There is no connection; that was not done.' };
  }
  const body = await answer.text();
  if (!answer.ok) {
    return { text: null, said: refusal(body) };
  }
  const rounds = body.split('[[round]]').length - 1;
  return { text: body, said: `${rounds} rounds are proposed. Beside each stands why it is in.` };
}

/**
 * The sentence of the page that the server refuses with.
 * @param {string} page
 */
function refusal(page) {
  // Its style is not this page's to apply.
  const unstyled = page.replace(/<style[\s\S]*?<\/style>/g, '');
  const told = new DOMParser().parseFromString(unstyled, 'text/html').querySelector('p');
  return told?.textContent?.trim() || 'The server refused it.';
}

/** @type {readonly (readonly [Source, string])[]} */
const SOURCES = [
  ['list', 'A muscle list of the server'],
  ['own', 'A muscle list of your own'],
  ['plan', 'Rounds that are planned'],
];
