// The instructor's desk begins: back to the review in hand where this tab has one, else the form for the key.

import { everyMoment } from './clock.js';
import { App } from './desk-app.js';

const app = new App();
app.begin();
everyMoment(() => app.draw());
