// Tells the box every ten seconds, and whenever that changes, whether this device watches: before
// somebody's eyes, armed, kept awake. Measures on the answers how far its own clock is off, and
// says so on the page when that is more than half a minute.
import { heardAgo, local, measure, now, skew } from './clock.js';
import { armed, awake } from './sound.js';

const EVERY_MS = 10_000;
const OFF_MS = 30_000;
const TICK_MS = 500;

/** @returns {HTMLElement | null} */
const frame = () => document.getElementById('frame');

/** What was told last, so that a change is told at once. */
let told = '';
let toldAt = -EVERY_MS;
let telling = false;

/** @param {boolean} [leaving] */
function standing(leaving = false) {
  return { visible: !leaving && document.visibilityState === 'visible', armed: armed(), wake_lock: awake() };
}

/** @param {boolean} [leaving] the page goes away: nothing comes back */
async function tell(leaving = false) {
  const trip = frame()?.dataset.trip;
  const place = document.documentElement.dataset.place;
  if (!trip || !['helm', 'deck', 'desk'].includes(place ?? '')) return;
  if (telling && !leaving) return;
  const state = standing(leaving);
  told = JSON.stringify(state);
  toldAt = performance.now();
  const off = skew();
  const ago = heardAgo();
  /** @type {Record<string, unknown>} */
  const report = { trip, place, ...state };
  if (Number.isFinite(ago)) report.heard_at_ms = Math.max(0, Math.round(ago));
  if (off) Object.assign(report, { offset_ms: Math.round(off.offset), bound_ms: Math.ceil(off.bound) });
  telling = true;
  const sent = performance.now();
  try {
    const answer = await fetch('/api/watching', {
      method: 'POST',
      headers: { 'Content-Type': 'application/json' },
      body: JSON.stringify(report),
      keepalive: true,
      credentials: 'same-origin',
      // One that never ends would be the last.
      signal: AbortSignal.timeout(EVERY_MS),
    });
    measure(answer.headers.get('Deckwatch-Now'), sent);
    show();
    done(answer.ok);
  } catch {
    // The box is gone: the age of the page says so.
    done(false);
  } finally {
    telling = false;
  }
}

/** @param {boolean} told whether the box knows */
function done(told) {
  document.dispatchEvent(new CustomEvent('watching', { detail: { told } }));
}

/** A span in words of the page. @param {number} ms @param {DOMStringMap} words */
function span(ms, words) {
  const seconds = Math.round(ms / 1000);
  const [figure, unit] =
    seconds < 120 ? [seconds, words.wordS] : seconds < 7200 ? [Math.round(seconds / 60), words.wordMin] : [Math.round(seconds / 3600), words.wordH];
  return `${figure} ${unit ?? ''}`;
}

/** Says by how much this device's clock is off, and the box's time beside. */
function show() {
  const place = document.getElementById('own-clock');
  const off = skew();
  if (!place) return;
  const far = off !== undefined && Math.abs(off.offset) - off.bound > OFF_MS;
  place.hidden = !far;
  if (!far) return;
  const { dataset } = place;
  const words = (off.offset > 0 ? dataset.wordAhead : dataset.wordBehind) ?? '';
  const text = words.replace('%span%', span(Math.abs(off.offset), dataset)).replace('%time%', local(now()));
  if (place.textContent !== text) place.textContent = text;
}

function step() {
  show();
  const due = performance.now() - toldAt >= EVERY_MS;
  if (due || told !== JSON.stringify(standing())) tell();
}

if (frame()?.dataset.trip) {
  tell();
  setInterval(step, TICK_MS);
  document.addEventListener('visibilitychange', () => tell(document.visibilityState !== 'visible'));
  addEventListener('pagehide', () => tell(true));
  addEventListener('pageshow', (event) => {
    if (event.persisted) tell();
  });
}
