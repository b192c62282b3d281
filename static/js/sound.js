// Sounds alarms and warnings of this page. Browsers play only after a tap, so the device is
// armed by one: a button says whether it is. An alarm goes wider the longer nobody answers: the
// helm sounds at once, screens on deck after half a minute, those ashore after two.
import { now } from './clock.js';

/** @type {AudioContext | undefined} */
let audio;
/** @type {{ stop: () => void } | undefined} */
let siren;
/** The warnings already beeped for: when first, and whether again. @type {Map<string, { at: number, twice: boolean }>} */
const beeped = new Map();

const LEVEL = 0.6;
const AGAIN_MS = 60_000;
/** From when on an alert sounds, by the place of work; what a person declared sounds at once on
 * board. @type {Record<string, number>} */
const FROM_MS = { helm: 0, deck: 30_000, desk: 120_000 };

/** Whether an alert has come as far as this screen.
 * @param {Element} one */
function isDue(one) {
  if (!(one instanceof HTMLElement)) return true;
  const place = document.documentElement.dataset.place ?? '';
  if (one.dataset.alertPriority === 'emergency' && place !== 'desk') return true;
  const age = now() - Date.parse(one.dataset.alertSince ?? '');
  // Without a time nobody can say that it is too early.
  return Number.isNaN(age) || age >= (FROM_MS[place] ?? 0);
}

/** Two tones by turns, run by the audio clock: it goes on where timers are slowed down.
 * @param {AudioContext} on */
function startSiren(on) {
  const tone = new OscillatorNode(on, { type: 'square', frequency: 880 });
  const turns = new OscillatorNode(on, { type: 'square', frequency: 1.25 });
  const depth = new GainNode(on, { gain: 220 });
  const level = new GainNode(on, { gain: LEVEL });
  turns.connect(depth).connect(tone.frequency);
  tone.connect(level).connect(on.destination);
  tone.start();
  turns.start();
  return {
    stop() {
      tone.stop();
      turns.stop();
      level.disconnect();
    },
  };
}

/** Two short beeps. @param {AudioContext} on */
function beep(on) {
  for (const start of [0, 0.3]) {
    const tone = new OscillatorNode(on, { type: 'square', frequency: 740 });
    const level = new GainNode(on, { gain: LEVEL });
    tone.connect(level).connect(on.destination);
    tone.start(on.currentTime + start);
    tone.stop(on.currentTime + start + 0.15);
  }
}

/** The identity of an alert: one situation has one sound, wherever it is shown.
 * @param {Element} one */
const identity = (one) => one.id || one.closest('[id]')?.id || '';

/** Armed: the tone was tried and heard on this device, and this page plays. */
export function armed() {
  return sessionStorage.getItem('armed') === 'yes' && audio?.state === 'running';
}

/** Whether the tone was heard here. @param {boolean} heard */
export function setArmed(heard) {
  sessionStorage.setItem('armed', heard ? 'yes' : 'no');
  if (heard) sessionStorage.setItem('sound', 'on');
  document.dispatchEvent(new Event('armed'));
}

/** Plays the tone of an alarm for two seconds; whether this page plays at all. */
export function tone() {
  if (!audio || audio.state !== 'running') return false;
  const trial = startSiren(audio);
  setTimeout(() => trial.stop(), 2000);
  return true;
}

/** @type {WakeLockSentinel | undefined} */
let lock;

/** Whether the screen is kept from sleeping. */
export function awake() {
  return lock !== undefined && !lock.released;
}

/** Keeps the screen from sleeping, where a browser can: it lets go whenever the page is hidden. */
export async function keepAwake() {
  if (awake() || !navigator.wakeLock || document.visibilityState !== 'visible') return awake();
  try {
    lock = await navigator.wakeLock.request('screen');
  } catch {
    // A battery that runs low, or a browser that will not: said by the page that arms.
    lock = undefined;
  }
  return awake();
}

function listen() {
  const playing = audio?.state === 'running';
  const alarm = [
    ...document.querySelectorAll('[data-alert-state="active"]:is([data-alert-priority="alarm"], [data-alert-priority="emergency"])'),
  ].some(isDue);
  const page = document.documentElement;
  if (alarm && audio && playing && !siren) siren = startSiren(audio);
  if ((!alarm || !playing) && siren) {
    siren.stop();
    siren = undefined;
  }
  page.dataset.sounding = siren ? 'alarm' : '';
  const warned = document.querySelectorAll('[data-alert-state="active"][data-alert-priority="warning"]');
  let due = false;
  const held = new Set();
  for (const one of warned) {
    const id = identity(one);
    if (!isDue(one)) continue;
    held.add(id);
    const was = beeped.get(id);
    if (!playing) continue;
    if (!was) {
      beeped.set(id, { at: performance.now(), twice: false });
      due = true;
    } else if (!was.twice && performance.now() - was.at >= AGAIN_MS) {
      was.twice = true;
      due = true;
    }
  }
  for (const id of beeped.keys()) if (!held.has(id)) beeped.delete(id);
  if (due && audio && !siren) beep(audio);
  show(playing);
}

/** @param {boolean} playing */
function show(playing) {
  document.documentElement.dataset.sound = playing ? 'on' : 'off';
  for (const one of document.querySelectorAll('[data-sound-switch]')) {
    if (!(one instanceof HTMLElement)) continue;
    one.setAttribute('aria-pressed', String(playing));
    const words = (playing ? one.dataset.wordOn : one.dataset.wordOff) ?? '';
    if (one.textContent !== words) one.textContent = words;
  }
}

/** Makes this page play; only after a tap in most browsers. */
export async function arm() {
  audio ??= new AudioContext();
  // Some phones mute pages by a side switch unless they say that they play.
  const session = /** @type {any} */ (navigator).audioSession;
  if (session) session.type = 'playback';
  if (audio.state !== 'running') await audio.resume();
  listen();
}

document.addEventListener('click', (event) => {
  const tapped = event.target instanceof Element && event.target.closest('[data-sound-switch]');
  if (tapped) {
    const was = audio?.state === 'running';
    arm().then(() => {
      // Also heard when already on: that is how it is tried.
      if (audio && (was || !siren)) beep(audio);
    }, () => show(false));
  }
});
// A device armed before sounds again from the first tap anywhere after a page load.
document.addEventListener('pointerup', () => {
  if (sessionStorage.getItem('sound') === 'on') arm().catch(() => show(false));
});
document.addEventListener('click', (event) => {
  if (event.target instanceof Element && event.target.closest('[data-sound-switch]')) sessionStorage.setItem('sound', 'on');
});
document.addEventListener('visibilitychange', () => {
  if (sessionStorage.getItem('armed') === 'yes') keepAwake();
});
if (sessionStorage.getItem('sound') === 'on') {
  // Without a tap only some browsers play; the others go on waiting for one.
  arm().then(() => document.dispatchEvent(new Event('armed')), () => show(false));
}
if (sessionStorage.getItem('armed') === 'yes') keepAwake();
document.addEventListener('renewed', listen);
setInterval(listen, 500);
listen();
