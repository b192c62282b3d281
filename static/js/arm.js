// The page that arms a screen: plays the tone, asks whether it was heard, and shows what passed.
import { skew } from './clock.js';
import { armed, arm, keepAwake, setArmed, tone } from './sound.js';

const OFF_MS = 30_000;

/** What was found, and whether the question stands: the page is renewed under it.
 * @type {Map<string, boolean>} */
const found = new Map();
let asks = false;
let tried = false;

/** @param {string} name @param {boolean} passed */
function outcome(name, passed) {
  found.set(name, passed);
  shown(name, passed);
}

/** @param {string} name @param {boolean} passed */
function shown(name, passed) {
  const place = document.querySelector(`[data-check="${name}"]`);
  if (!(place instanceof HTMLElement)) return;
  place.dataset.outcome = passed ? 'passed' : 'failed';
  const words = passed ? place.dataset.wordPassed : place.dataset.wordFailed;
  const text = place.querySelector('span');
  if (text && words !== undefined && text.textContent !== words) text.textContent = words;
}

function verdict() {
  const place = document.getElementById('arm-verdict');
  if (!place || !tried) return;
  const is = armed();
  place.hidden = false;
  const words = (is ? place.dataset.wordArmed : place.dataset.wordUnarmed) ?? '';
  if (place.textContent !== words) place.textContent = words;
}

/** @param {boolean} is */
function ask(is) {
  asks = is;
  const question = document.getElementById('arm-question');
  if (question) question.hidden = !is;
}

/** The promise of a browser to keep what is stored; none over plain http. */
async function kept() {
  try {
    return (await navigator.storage?.persist?.()) === true;
  } catch {
    return false;
  }
}

function measured() {
  const off = skew();
  if (off) outcome('clock', Math.abs(off.offset) - off.bound <= OFF_MS);
}

async function play() {
  // All of this needs the tap: it is asked for at once and answered one by one.
  const [plays, awake, keeps] = await Promise.all([arm().then(tone, () => false), keepAwake(), kept()]);
  outcome('sound', plays);
  outcome('awake', awake);
  outcome('kept', keeps);
  measured();
  ask(plays);
  if (!plays) {
    tried = true;
    setArmed(false);
    verdict();
  } else document.querySelector('#arm-question button')?.scrollIntoView({ block: 'nearest' });
}

document.addEventListener('click', (event) => {
  const tapped = event.target instanceof Element ? event.target.closest('[data-arm], [data-heard]') : null;
  if (!(tapped instanceof HTMLElement)) return;
  if (tapped.dataset.heard === undefined) {
    play();
    return;
  }
  const heard = tapped.dataset.heard === 'yes';
  outcome('heard', heard);
  tried = true;
  setArmed(heard);
  ask(false);
  verdict();
});

/** What this screen was found to be, again on the page as it was renewed. */
function again() {
  if (!armed()) return;
  tried = true;
  outcome('sound', true);
  outcome('heard', true);
  keepAwake().then((awake) => outcome('awake', awake));
  verdict();
  measured();
}
document.addEventListener('watching', (event) => {
  const told = event instanceof CustomEvent && event.detail.told === true;
  if (armed() || !told) outcome('told', told);
  measured();
});
document.addEventListener('renewed', () => {
  for (const [name, passed] of found) shown(name, passed);
  ask(asks);
  verdict();
});
document.addEventListener('armed', again);
again();
