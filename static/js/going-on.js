// Makes a page ready to go on without the box: the pages of a device alone, the acts that are kept
// first and sent then, the copy of the log. Fetched after the page itself.
import { ahead, enter } from './alone.js';
import './copy.js';
import { waiting } from './kept.js';
import { deliver } from './outbox.js';
import './submit.js';
import { load } from './words.js';

const LOOK_MS = 250;
const AGAIN_MS = 10_000;

document.addEventListener('box-silent', (event) => enter(/** @type {CustomEvent} */ (event).detail.heardAt));
if (document.getElementById('strip')) setInterval(ahead, LOOK_MS);
/** Has the words at hand, without which nothing can be said alone. */
async function ready() {
  if (await load()) document.documentElement.dataset.goesOn = '';
  else setTimeout(ready, AGAIN_MS);
}
ready();


/** What an earlier page left waiting, whatever page this is. */
async function handOver() {
  if (!(await waiting()).length) return;
  if ((await deliver()) === 'no-answer') setTimeout(handOver, AGAIN_MS);
}
handOver();
