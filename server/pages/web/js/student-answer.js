// The answer to an open round: a line to type in, or the two that are offered; what the server asked back;
// and where the answer stands, in words.

/**
 * @import { App } from './student-app.js'
 * @import { Ask, Sitting } from './sitting.js'
 * @import { Open } from './state.js'
 * @import { Task } from './wire.js'
 */

import { el, fill, show, tell } from './dom.js';
import { attemptOf, isGroup, ownLimit } from './sitting.js';
import { THING, listed } from './words.js';
import { open } from './student-round.js';

/** As the server has it: wire/src/limits.rs. */
const ANSWER_CHARS = 80;

/** What the line is called. @type {Readonly<Record<Task, string>>} */
const LABEL = {
  name: 'The muscle’s name',
  picture: 'The muscle’s name',
  movement: 'A movement that it makes',
  contrast: 'The muscle’s name',
};

/**
 * The answer of an open round.
 * @param {App} app
 * @returns {{ node: HTMLElement, update: () => void }}
 */
export function answerPanel(app) {
  const { offered } = open(app);
  const status = el('p', { class: 'status', role: 'status', id: 'status' });
  const answer = offered.length > 0 ? ofTwo(app, offered) : typed(app);
  const asked = askedBack(app);
  const update = () => {
    answer.update();
    asked.update();
    tell(status, answer.lacks() || stands(app));
  };
  return { node: el('div', { class: 'answering' }, answer.node, asked.node, status), update };
}

/**
 * A line to type in. What was sent stays in it, and can be put right if the server asks back.
 * @param {App} app
 */
function typed(app) {
  const { task, example } = open(app);
  // What is missing, told until something is typed.
  let lacks = '';
  const input = el('input', {
    type: 'text',
    id: 'answer',
    name: 'answer',
    maxlength: ANSWER_CHARS,
    autocomplete: 'off',
    autocapitalize: 'none',
    autocorrect: 'off',
    spellcheck: 'false',
    enterkeyhint: 'send',
    dir: 'auto',
    'aria-describedby': example ? 'example status' : 'status',
    oninput: () => (lacks = ''),
  });
  const send = el('button', { class: 'main', type: 'submit' }, 'Send');
  const submit = (/** @type {Event} */ event) => {
    event.preventDefault();
    if (app.seated.own.kind !== 'nothing') {
      return;
    }
    const text = input.value.trim();
    if (/[\p{L}\p{N}]/u.test(text)) {
      app.answer(text);
    } else {
      lacks = `Type ${task === 'movement' ? 'a movement' : 'a name'} first.`;
      input.focus();
      app.draw();
    }
  };
  const node = el(
    'form',
    { novalidate: true, onsubmit: submit },
    el('label', { for: 'answer' }, LABEL[task]),
    example ? el('p', { class: 'note', id: 'example' }, `In this form, but not this one: ${example}`) : null,
    el('div', { class: 'line' }, input, send),
  );
  const update = () => {
    const { own } = app.seated;
    const attempt = attemptOf(own);
    if (attempt) {
      lacks = '';
    }
    if (attempt && input.value.trim() !== attempt.text) {
      input.value = attempt.text;
    }
    const free = own.kind === 'nothing';
    input.readOnly = !free;
    send.setAttribute('aria-disabled', String(!free));
  };
  return { node, update, lacks: () => lacks };
}

/**
 * The two that are offered, as buttons.
 * @param {App} app
 * @param {readonly string[]} offered
 */
function ofTwo(app, offered) {
  const buttons = offered.map((name) =>
    el('button', { type: 'button', class: 'pick', onclick: () => app.answer(name) }, name),
  );
  const update = () => {
    const { own } = app.seated;
    const chosen = attemptOf(own)?.text;
    buttons.forEach((button, at) => {
      const mine = chosen !== undefined && offered[at]?.toLowerCase() === chosen.toLowerCase();
      button.setAttribute('aria-pressed', String(mine));
      button.setAttribute('aria-disabled', String(own.kind !== 'nothing' && !mine));
    });
  };
  const group = { class: 'picks', role: 'group', 'aria-label': `Choose ${listed(offered, 'or')}` };
  return { node: el('div', group, buttons), update, lacks: () => '' };
}

/**
 * What the server asked back, with names to choose from.
 * @param {App} app
 */
function askedBack(app) {
  const said = el('p', { role: 'status' });
  const names = el('ul', { class: 'picks' });
  const node = el('div', { class: 'asked-back', hidden: true }, said, names);
  /** @type {Ask | null} */
  let shown = null;
  const update = () => {
    const { ask, own } = app.seated;
    const now = own.kind === 'nothing' ? ask : null;
    if (now === shown) {
      return;
    }
    shown = now;
    show(node, now !== null);
    tell(said, now ? question(now, open(app)) : '');
    const pick = (/** @type {string} */ name) =>
      el('li', {}, el('button', { type: 'button', class: 'pick', onclick: () => app.answer(name) }, name));
    fill(names, (now?.names ?? []).map(pick));
  };
  return { node, update };
}

/**
 * @param {Ask} ask
 * @param {Open} stage
 */
function question({ typed: said, several, names }, { task, offered }) {
  const thing = THING[task];
  if (offered.length > 0) {
    return `“${said}” is not clearly one of the two.`;
  }
  if (several) {
    return names.length === 0
      ? `“${said}” fits several ${thing}s. Type the full name.`
      : `Which one? “${said}” fits several ${thing}s:`;
  }
  const none = `No ${thing} is called “${said}”.`;
  return names.length === 0 ? none : `${none} Do you mean one of these?`;
}

/**
 * Where the answer stands, in words.
 * @param {App} app
 */
function stands(app) {
  const { seated, up } = app;
  const { own } = seated;
  switch (own.kind) {
    case 'nothing':
      return wanted(seated, open(app));
    case 'sent':
      return up
        ? 'Sent. Waiting for the server.'
        : 'Kept here. It is sent as soon as the connection is back.';
    case 'taken':
      return own.recorded
        ? 'Recorded: your answer counts. Wait for the others.'
        : 'Received: your time has stopped. Being recorded.';
    case 'barred':
      return own.why;
  }
}

/**
 * @param {Sitting} sitting
 * @param {Open} stage
 */
function wanted(sitting, { task, watch, limit, offered }) {
  const own = ownLimit(sitting, limit);
  const two = offered.length > 0;
  if (sitting.review.halted) {
    const by = isGroup(sitting) ? 'Paused.' : 'Paused by the instructor.';
    return two ? `${by} You can choose when it goes on.` : `${by} You can type now, and send when it goes on.`;
  }
  if (own !== null && watch.elapsed() >= own) {
    return 'Your time is up. The round closes soon.';
  }
  if (two) {
    return '';
  }
  if (sitting.ask) {
    return sitting.ask.names.length > 0 ? 'Choose one, or type another.' : 'Correct it and send it again.';
  }
  return task === 'movement'
    ? 'Alone, or with what moves or the joint.'
    : 'English and Latin names will do.';
}
