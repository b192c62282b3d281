// The ladder of an alarm on the helm, fifteen seconds after it began and unanswered: the page's own
// cover is laid over it. And what became an alarm while this screen slept.
import { local, now } from './clock.js';

const COVER_MS = 15_000;
const SLEPT_MS = 30_000;
const TICK_MS = 250;
/** The page renews itself when it comes into view; what it shows by then is what is told. */
const LOOK_AGAIN_MS = 900;

/** The alarm whose cover took the focus. @type {string | undefined} */
let focused;

function cover() {
  const place = document.getElementById('cover');
  const since = Date.parse(place?.dataset.since ?? '');
  if (!place || Number.isNaN(since)) return;
  const due = now() - since >= COVER_MS && place.dataset.coverState === 'active';
  if (place.hidden === !due) return;
  place.hidden = !due;
  // Once for each alarm: a renewal takes the focus from nobody.
  if (due && focused !== place.dataset.since) place.querySelector('button')?.focus({ preventScroll: true });
  if (due) focused = place.dataset.since;
}

/** The alarms of the page, by identity, with what each is called and since when it holds. */
function alarms() {
  /** @type {Map<string, { name: string, since: number }>} */
  const all = new Map();
  const found = document.querySelectorAll(
    ':is([data-alert-state="active"], [data-alert-state="resolved"]):is([data-alert-priority="warning"], [data-alert-priority="alarm"], [data-alert-priority="emergency"])',
  );
  for (const one of found) {
    if (!(one instanceof HTMLElement)) continue;
    const id = (one.id || one.closest('[id]')?.id || '').replace('listed-', '');
    const word = one.querySelector('[data-phase-word]')?.textContent;
    const name = one.querySelector('.alert-text strong')?.textContent ?? [one.dataset.name, word].filter(Boolean).join(': ');
    if (id && !one.closest('#cover')) all.set(`${id} ${one.dataset.alertPriority}`, { name, since: Date.parse(one.dataset.alertSince ?? '') });
  }
  return all;
}

/** @type {{ at: number, here: number, held: Set<string> } | undefined} */
let asleep;
/** Until when what is found still counts as having come meanwhile. */
let lookUntil = -1;
/** @type {Set<string>} */
let told = new Set();

function hide() {
  // A page that is hidden twice in a row slept from the first time on.
  asleep ??= { at: now(), here: performance.now(), held: new Set(alarms().keys()) };
}

function look() {
  const place = document.getElementById('slept');
  if (!place || !asleep) return;
  const { held } = asleep;
  const list = place.querySelector('ul');
  for (const [key, { name, since }] of alarms()) {
    if (held.has(key) || told.has(key)) continue;
    told.add(key);
    const row = document.createElement('li');
    row.textContent = Number.isNaN(since) ? name : `${name} · ${local(since)}`;
    list?.append(row);
    place.hidden = false;
  }
  if (performance.now() >= lookUntil) asleep = undefined;
}

function wake() {
  if (!asleep) return;
  // The monotonic clock may have stood still meanwhile; the box's time tells after the renewal.
  const slept = Math.max(performance.now() - asleep.here, now() - asleep.at);
  if (slept < SLEPT_MS) {
    asleep = undefined;
    return;
  }
  told = new Set();
  lookUntil = performance.now() + LOOK_AGAIN_MS;
  look();
}

document.addEventListener('visibilitychange', () => (document.visibilityState === 'visible' ? wake() : hide()));
document.addEventListener('click', (event) => {
  const seen = event.target instanceof Element ? event.target.closest('[data-slept-seen]') : null;
  const place = document.getElementById('slept');
  if (!seen || !place) return;
  place.hidden = true;
  place.querySelector('ul')?.replaceChildren();
});
document.addEventListener('renewed', () => {
  if (lookUntil > performance.now()) look();
  cover();
});
setInterval(() => {
  cover();
  if (asleep && document.visibilityState === 'visible') look();
}, TICK_MS);
cover();
