// The page that arms a screen: plays the tone, asks whether it was heard, and shows what passed.
import { skew } from './clock.js';
import { armed, arm, keepAwake, setArmed, tone } from './sound.js';

const OFF_MS = 30_000;

/** @param {string} name @param {boolean} passed */
function outcome(name, passed) {
  const place = document.querySelector(`[data-check="${name}"]`);
  if (!(place instanceof HTMLElement)) return;
  place.dataset.outcome = passed ? 'passed' : 'failed';
  const words = passed ? place.dataset.wordPassed : place.dataset.wordFailed;
  const text = place.querySelector('span');
  if (text && words !== undefined && text.textContent !== words) text.textContent = words;
}

function verdict() {
  const place = document.getElementById('arm-verdict');
  if (!place) return;
  const is = armed();
  place.hidden = false;
  const words = (is ? place.dataset.wordArmed : place.dataset.wordUnarmed) ?? '';
  if (place.textContent !== words) place.textContent = words;
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
  const question = document.getElementById('arm-question');
  if (question) question.hidden = !plays;
  if (!plays) {
    setArmed(false);
    verdict();
  } else question?.querySelector('button')?.focus();
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
  setArmed(heard);
  const question = document.getElementById('arm-question');
  if (question) question.hidden = true;
  verdict();
});

/** What this screen was found to be, again on the page as it was renewed. */
function again() {
  if (!armed()) return;
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
document.addEventListener('armed', again);
again();
