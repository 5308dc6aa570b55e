// The room's board begins: it follows the review of its link, or asks for a join word.

import { App } from './board-app.js';
import { keepFit } from './board-fit.js';
import { frame } from './board-frame.js';
import { joinWord } from './board-still.js';
import { everyMoment } from './clock.js';
import { byId } from './dom.js';

const app = new App(frame);
const asked = new URLSearchParams(location.search).get('word') ?? '';
const word = joinWord(asked);
if (word) {
  app.watch(word);
} else {
  app.ask(asked, asked ? 'bad' : 'none');
}
keepFit(byId('main'));
everyMoment(() => app.draw());
