// What one tab keeps while it is open: the key, the review in hand, and whether the class may see the screen.
// Nothing outlasts the tab, and nothing stands in a URL.

/** @typedef {{ key: string, word: string }} Kept */

const PLACE = 'myonym-desk';
const SHOWN = 'myonym-desk-shown';

/** @returns {Kept} */
export function kept() {
  try {
    const { key, word } = JSON.parse(sessionStorage.getItem(PLACE) ?? '{}');
    return { key: typeof key === 'string' ? key : '', word: typeof word === 'string' ? word : '' };
  } catch {
    return { key: '', word: '' };
  }
}

/** @param {Kept} what */
export function keep(what) {
  store(PLACE, JSON.stringify(what));
}

/** Forgets the key and the review. */
export function forget() {
  try {
    sessionStorage.clear();
  } catch {
    // Nothing was kept.
  }
}

/** Whether the page shows what the class must not see. Not at first: a laptop's screen is often the room's. */
export function shownHere() {
  try {
    return sessionStorage.getItem(SHOWN) === 'yes';
  } catch {
    return false;
  }
}

/** @param {boolean} shown */
export function keepShown(shown) {
  store(SHOWN, shown ? 'yes' : 'no');
}

/**
 * @param {string} place
 * @param {string} text
 */
function store(place, text) {
  try {
    sessionStorage.setItem(place, text);
  } catch {
    // A browser that keeps nothing asks for the key again when the page is loaded anew.
  }
}
