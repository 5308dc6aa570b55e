// Makes and changes elements. Text goes in as text nodes only, so nothing that a person typed or a
// server sent is ever read as markup.
//
//   const button = el('button', { type: 'button', class: 'go', onclick: start }, 'Start');
//   fill(main, el('h1', {}, 'Round 3 of 18'), list.map((name) => el('li', {}, named(name))));
//   tell(status, 'Received.');              // changes the text only if it is another
//   const path = shape('path', { d });      // the same as el, for SVG

/**
 * What can stand in an element: nodes, text, numbers, lists of them; `null`, `undefined` and `false` are
 * left out.
 * @typedef {Node | string | number | null | undefined | false} One
 * @typedef {One | readonly (One | readonly One[])[]} Child
 */

/**
 * Attributes: `true` is an empty attribute; `false`, `null` and `undefined` leave it out; a function
 * under `on…` listens.
 * @typedef {Record<string, string | number | boolean | null | undefined | ((event: any) => void)>} Attributes
 */

const SVG = 'http://www.w3.org/2000/svg';

/**
 * An HTML element.
 * @template {keyof HTMLElementTagNameMap} T
 * @param {T} tag
 * @param {Attributes} [attributes]
 * @param {...Child} children
 * @returns {HTMLElementTagNameMap[T]}
 */
export function el(tag, attributes = {}, ...children) {
  return dressed(document.createElement(tag), attributes, children);
}

/**
 * An SVG element.
 * @template {keyof SVGElementTagNameMap} T
 * @param {T} tag
 * @param {Attributes} [attributes]
 * @param {...Child} children
 * @returns {SVGElementTagNameMap[T]}
 */
export function shape(tag, attributes = {}, ...children) {
  return dressed(document.createElementNS(SVG, tag), attributes, children);
}

/**
 * Puts children in the place of those that an element has.
 * @template {Element} E
 * @param {E} element
 * @param {...Child} children
 * @returns {E}
 */
export function fill(element, ...children) {
  element.replaceChildren(...nodes(children));
  return element;
}

/**
 * Gives an element another text. The same text changes nothing, so a live region does not say it twice.
 * @param {Element} element
 * @param {string} text
 */
export function tell(element, text) {
  if (element.textContent !== text) {
    element.textContent = text;
  }
}

/**
 * Shows or hides an element.
 * @param {HTMLElement} element
 * @param {boolean} shown
 */
export function show(element, shown) {
  if (element.hidden === shown) {
    element.hidden = !shown;
  }
}

/**
 * A person's name, in its own direction whatever stands round it.
 * @param {string} name
 */
export function named(name) {
  return el('bdi', {}, name);
}

/**
 * The element with this id, which the page's HTML must have.
 * @param {string} id
 * @returns {HTMLElement}
 */
export function byId(id) {
  const found = document.getElementById(id);
  if (!found) {
    throw new Error(`The page has no element #${id}.`);
  }
  return found;
}

/**
 * @template {Element} E
 * @param {E} element
 * @param {Attributes} attributes
 * @param {readonly Child[]} children
 * @returns {E}
 */
function dressed(element, attributes, children) {
  for (const [name, value] of Object.entries(attributes)) {
    if (typeof value === 'function') {
      element.addEventListener(name.slice(2), value);
    } else if (value !== null && value !== undefined && value !== false) {
      element.setAttribute(name, value === true ? '' : String(value));
    }
  }
  element.append(...nodes(children));
  return element;
}

/**
 * @param {readonly unknown[]} children
 * @returns {(Node | string)[]}
 */
function nodes(children) {
  return children
    .flat(4)
    .filter((child) => child !== null && child !== undefined && child !== false)
    .map((child) => (child instanceof Node ? child : String(child)));
}
