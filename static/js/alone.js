// Working alone: when the box does not answer, this takes the page over with what is kept on the
// device, goes on with times and alarms, keeps every act, and hands over when the box is back.
import { hear, local, now, setSpeed } from './clock.js';
import { acts, held, trips } from './kept.js';
import { alertsOf, e, frame as draw, strip } from './alone-pages.js';
import { isLeaving } from './leaving.js';
import { deliver, pendingOf, put, takeBack } from './outbox.js';
import { overlay } from './overlay.js';
import { author, take, told } from './picture.js';
import { whereIs } from './said.js';
import { load, say } from './words.js';

/** @typedef {Record<string, any>} Json */

const LOOK_MS = 250;
const ASK_MS = 3_000;
const ANSWER_MS = 4_000;
/** So long the box has to tell an alarm that is due by its own picture. */
const LATE_MS = 500;

/** @type {import('./kept.js').Held | undefined} */
let kept;
/** @type {Json[]} */
let pending = [];
/** @type {Json[]} */
let waiting = [];
let on = false;
let entering = false;
let since = NaN;
let byKeptClock = false;
let outcome = '';
let note = '';
let drawn = '';
/** @type {ReturnType<typeof setInterval> | undefined} */
let looking;

/** Whether this page works alone. */
export const isAlone = () => on;

/** @returns {HTMLElement | null} */
const frame = () => document.getElementById('frame');

/** The picture as this device sees it now, own acts on top. @returns {Json | null} */
export function seen() {
  const picture = told() ?? kept?.picture;
  return picture ? overlay(picture, /** @type {any} */ (pending), now()) : null;
}

/** Who acts on this device: as the page says, else as it was kept. */
export const who = () => author() ?? kept?.who ?? null;

/** Takes what waits anew from the device. */
async function refresh() {
  const trip = whereIs(location.pathname)?.trip ?? kept?.trip;
  const picture = told() ?? kept?.picture;
  if (!trip || !picture) return;
  waiting = await acts(trip);
  pending = await pendingOf(trip, picture);
  document.documentElement.dataset.waiting = String(waiting.length);
  badge();
}

/** On a page of the box: that something waits here, or was not taken. */
function badge() {
  const where = whereIs(location.pathname);
  const held = document.getElementById('waits-here');
  if (on || !where || !waiting.length) return held?.remove();
  const refused = waiting.filter((act) => act.refused).at(-1);
  const text = refused ? say('alone-refused', { why: refused.refused }) : say('alone-waiting', { n: waiting.length });
  const link = /** @type {HTMLAnchorElement} */ (held ?? document.createElement('a'));
  link.id = 'waits-here';
  link.className = 'waits-here';
  link.href = `/${where.place}/${where.trip}/logs`;
  if (link.textContent !== text) link.textContent = text;
  if (!held) document.querySelector('#frame > .mast')?.append(link);
}

/** Takes the page over. @param {number} heardAt the box's time at its last word, ms */
export async function enter(heardAt) {
  if (on || entering) return;
  entering = true;
  const worded = await load();
  entering = false;
  if (!worded) {
    // A page that was cut off before it had its words stays as the box drew it, with its age.
    setTimeout(() => document.documentElement.dataset.link !== 'live' && enter(heardAt), ASK_MS);
    return;
  }
  on = true;
  since = heardAt;
  document.documentElement.dataset.alone = '';
  setTimeout(askBox, ASK_MS);
  await open();
  looking ??= setInterval(show, LOOK_MS);
}

/** Finds what is kept of the trip of this page. */
async function open() {
  try {
    const trip = whereIs(location.pathname)?.trip;
    kept = trip ? await held(trip) : undefined;
    if (kept && told()?.trip !== kept.trip) {
      take(kept.picture);
      setSpeed(Number(kept.speed ?? 1));
      // Nothing tells the time but this device's own clock: from what the box said and what has passed since.
      const passed = Math.max(0, Date.now() - kept.wall) * Number(kept.speed ?? 1);
      hear(new Date(Date.parse(kept.now) + passed).toISOString().replace('Z', '+00:00'));
      if (/^[+-]/.test(kept.zone ?? '')) hear(withZone(now(), kept.zone ?? ''));
      byKeptClock = true;
      since = Date.parse(kept.now);
      if (kept.palette) document.documentElement.dataset.palette = kept.palette;
      const page = frame();
      if (page) page.dataset.units = kept.units ?? 'metric';
    }
    await refresh();
  } catch (cause) {
    // Without storage the page goes on with what it holds.
    console.warn('what is kept here cannot be read', cause);
  }
  show();
}

/** @param {number} ms @param {string} zone `+02:00` */
function withZone(ms, zone) {
  const [, sign, h, m] = /([+-])(\d\d):(\d\d)/.exec(zone) ?? [];
  const offset = (sign === '-' ? -1 : 1) * (Number(h) * 60 + Number(m)) * 60_000;
  return new Date(ms + offset).toISOString().replace('Z', zone);
}

/** Why the box is away, as far as this device can tell. */
function why() {
  const certificate = kept?.certificate;
  if (certificate && now() >= Date.parse(certificate.ends)) {
    const ends = certificate.ends.slice(0, 10);
    return certificate.basic ? say('alone-certificate', { ends, basic: certificate.basic }) : say('alone-certificate-only', { ends });
  }
  // A drill has a time of its own.
  const drill = document.documentElement.dataset.drill !== undefined;
  if (!drill && !byKeptClock && Math.abs(Date.now() - now()) > 30_000) return say('alone-device-clock', { here: local(Date.now()), box: local(now()) });
  const at = Number.isNaN(since) ? '–' : local(since, true);
  return say(byKeptClock ? 'alone-since-kept' : 'alone-since', { since: at });
}

/** Draws the page if it has changed. */
export function show() {
  if (!on) return;
  const held = frame();
  const where = whereIs(location.pathname);
  if (!held) return;
  if (where) document.documentElement.dataset.place = where.place;
  const p = seen();
  const told = outcome === 'sign-in' ? say('alone-signed-out') : outcome === 'back' ? say('alone-box-back') : why();
  const markup = where && p ? draw({ ...where, p, now: now(), waiting, why: told, note }, drill(p)) : start(told);
  if (markup === drawn) return;
  drawn = markup;
  /** @type {any} */ (globalThis).Idiomorph.morph(held, markup, { morphStyle: 'innerHTML', ignoreActiveValue: true, callbacks: CALLBACKS });
  document.title = `${drill(p) ? `${say('alone-drill')} · ` : ''}${say('alone-working')} · Deckwatch`;
  document.dispatchEvent(new Event('renewed'));
}

/** With the box at hand: an alarm that its last picture foretold sounds at its instant, whatever becomes of
 * the next word. The page that the box draws takes its place. */
export function ahead() {
  const where = whereIs(location.pathname);
  const place = document.getElementById('strip');
  if (on || !where || !told() || !place) return;
  const picture = /** @type {Json} */ (told());
  const p = overlay(picture, [], now());
  const untold = alertsOf(p).some(([key, alert]) => {
    if (alert.state !== 'active' || alert.priority === 'caution' || now() - Date.parse(alert.since) < LATE_MS) return false;
    // One situation has one row: a graver cause of it is told as well, though the row is there.
    const lacks = (/** @type {Json | undefined} */ one) => !one || (one.state !== 'active' && Date.parse(one.since) < Date.parse(alert.since)) ||
      (one.priority === 'warning' && alert.priority !== 'warning') ||
      // Its thirty seconds of silence are over.
      one.state === 'silenced';
    const row = document.getElementById(`alert-${key.replace(/[^a-z0-9]/gi, '-')}`)?.dataset;
    // What the box has told is on its way to this page: only what it has not is shown ahead of it.
    return lacks(picture.alerts[key]) && lacks(row && { state: row.alertState, since: row.alertSince, priority: row.alertPriority });
  });
  if (!untold) return;
  const drawn = strip({ ...where, p, now: now(), waiting: [], why: '', note: '' });
  const next = new DOMParser().parseFromString(drawn, 'text/html').getElementById('strip');
  // What is wrong with the box stands as it was told.
  const notices = place.querySelector('.strip-notices');
  if (next && notices) next.append(notices);
  if (next) /** @type {any} */ (globalThis).Idiomorph.morph(place, next);
  document.dispatchEvent(new Event('renewed'));
}

/** @param {Json | null} p */
const drill = (p) => Boolean(p?.boat?.drill) || document.documentElement.dataset.drill !== undefined;

const CALLBACKS = {
  beforeNodeMorphed(/** @type {Node} */ was, /** @type {Node} */ becomes) {
    if (was instanceof HTMLFormElement && was.dataset.edited !== undefined) return false;
    if (was instanceof HTMLElement && was.id === 'alone-logs') return false;
    if (was instanceof HTMLDetailsElement && was.open && becomes instanceof HTMLDetailsElement) becomes.open = true;
    if (!(was instanceof HTMLElement) || !was.matches('[data-sound-switch], [data-due]')) return true;
    // Others write what they show; what a figure counts to is renewed.
    if (becomes instanceof HTMLElement && becomes.dataset.due) was.dataset.due = becomes.dataset.due;
    return false;
  },
};

/** @type {import('./kept.js').Held[]} */
let all = [];
/** Without a trip in the address: those that are kept. @param {string} told */
function start(told) {
  const place = (/** @type {Json} */ one) => (one.who?.role === 'skipper' ? 'helm' : 'deck');
  const list = all.map((one) => `<li><a class="button plain" href="/${place(one)}/${e(one.trip)}"><span>${e(one.picture.boat?.name)} ${e(one.picture.boat?.day)}</span></a></li>`).join('');
  return `<main id="main" tabindex="-1"><h1>${e(say('alone-working'))}</h1><p class="caution" role="status">${e(told)}</p>${list ? `<h2>${e(say('alone-which'))}</h2><ul class="plain-list">${list}</ul>` : `<p>${e(say('alone-nothing-kept'))}</p>`}</main>`;
}

/** Asks whether the box is back, again and again. */
async function askBox() {
  try {
    const answer = await fetch('/api/health', { cache: 'no-store', signal: AbortSignal.timeout(ANSWER_MS) });
    if (answer.ok) await leave();
  } catch {
    outcome = '';
  }
  // So that a crew's devices do not all knock at the same moment.
  if (on) setTimeout(askBox, ASK_MS * (0.7 + Math.random() * 0.6));
}

/** The box answers: what waits is delivered, then its own page is loaded. */
async function leave() {
  const delivered = await deliver();
  await refresh();
  if (delivered === 'no-answer') return;
  if (delivered === 'sign-in') {
    outcome = 'sign-in';
    // Signing in again is the box's page.
    if (!edited()) location.reload();
    return;
  }
  if (edited()) {
    // What is typed stays; what others say is heard all the same.
    const trip = whereIs(location.pathname)?.trip;
    const answer = trip && (await fetch(`/api/trips/${trip}/picture`, { credentials: 'same-origin', signal: AbortSignal.timeout(ANSWER_MS) }));
    if (answer && answer.ok) {
      const word = await answer.json();
      hear(word.now);
      take(word.picture);
      await refresh();
    }
    outcome = 'back';
    return show();
  }
  // The page itself, before it is asked for: a box that is slow must not bring this page back at once.
  const page = await fetch(location.pathname + location.search, { credentials: 'same-origin', signal: AbortSignal.timeout(10_000) });
  if (page.status >= 500) return;
  if (isLeaving()) return;
  // Some pages of a device alone are none of the box's.
  const where = whereIs(location.pathname);
  location.replace(page.status === 404 && where ? `/${where.place}/${where.trip}` : location.pathname + location.search);
}

const edited = () => document.querySelector('#frame form[data-edited]') !== null;

/** Keeps an act made alone and shows it. @param {string} trip @param {import('./said.js').Draft[]} drafts @param {string} words */
export async function keepAct(trip, drafts, words) {
  note = '';
  try {
    await put(trip, drafts, words);
  } catch {
    return refuse('alone-not-saved');
  }
  for (const form of document.querySelectorAll('form[data-edited]')) if (form instanceof HTMLFormElement) delete form.dataset.edited;
  await refresh();
  show();
}

/** Says on the page that nothing was kept. @param {string} key */
export function refuse(key) {
  note = say(key);
  show();
  document.getElementById('problem')?.focus();
}

/** Goes to another page of the device without asking the box. @param {string} to */
export async function go(to) {
  history.pushState(null, '', to);
  await turnTo();
  document.getElementById('main')?.focus();
}

/** Shows the page of the address, and nothing that was typed on the one before. */
async function turnTo() {
  note = '';
  drawn = '';
  document.getElementById('main')?.replaceChildren();
  const trip = whereIs(location.pathname)?.trip;
  if (trip && trip !== (told() ?? kept?.picture)?.trip) await open();
  else await refresh();
  show();
}

addEventListener('popstate', () => {
  if (on) turnTo();
});
for (const name of ['picture', 'renewed']) {
  document.addEventListener(name, () => {
    if (!on) refresh().catch(() => undefined);
  });
}
document.addEventListener('outbox', () => {
  refresh().then(show, () => undefined);
});
document.addEventListener('click', (event) => {
  if (!on || !(event.target instanceof Element)) return;
  const back = event.target.closest('[data-take-back]');
  if (back instanceof HTMLElement) return void undo(Number(back.dataset.takeBack));
  const way = event.target.closest('a[href]');
  if (!(way instanceof HTMLAnchorElement) || way.origin !== location.origin || event.defaultPrevented) return;
  if (way.hash && way.pathname === location.pathname) return;
  event.preventDefault();
  go(way.pathname + way.search);
});

/** Takes back the last act. @param {number} nth */
async function undo(nth) {
  const act = waiting.find((one) => one.nth === nth);
  if (!act) return;
  await takeBack(act.trip, nth, say('alone-did-void'));
  await refresh();
  show();
}

/** For a page with no trip: what is kept is listed. */
export async function listTrips() {
  all = await trips().catch(() => []);
  drawn = '';
  show();
}
