// The student's page begins: back to a kept seat where the link has its join word, else the form.

import { everyMoment } from './clock.js';
import { lastName, seatIn } from './seat.js';
import { App } from './student-app.js';
import { frame } from './student-frame.js';
import { joinWord } from './student-join.js';

const app = new App(frame);
const word = joinWord(new URLSearchParams(location.search).get('word') ?? '') ?? '';
app.entry = { word, name: lastName(), listed: false, group: '' };
if (word && seatIn(word)) {
  app.comeBack(word);
} else {
  app.draw();
}
everyMoment(() => app.draw());
