// What a page says aloud to those who listen to it: sentences for the two live regions that every page has.

import { byId, tell } from './dom.js';

/** An app that speaks. */
export class Voice {
  /**
   * Reads a sentence out at the next pause in speech.
   * @param {string} text
   */
  read(text) {
    tell(byId('said'), text);
  }

  /**
   * Reads a sentence out at once.
   * @param {string} text
   */
  readAtOnce(text) {
    tell(byId('urgent'), text);
  }
}
