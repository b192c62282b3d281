// Keeps the page on the server's picture: listens to the stream, renews the frame when the
// picture changes, and says how old the page is when the server falls silent.
import { hear, local, now, setSpeed } from './clock.js';
import { isLeaving } from './leaving.js';
import { heard as pictureHeard, told } from './picture.js';

const STALE_MS = 10_000;
const LOST_MS = 60_000;
const SETTLE_MS = 200;
const TICK_MS = 250;

/** @type {EventSource | undefined} */
let stream;
let heardAt = performance.now();
let heardServer = now();
let openedAt = 0;
/** @type {ReturnType<typeof setTimeout> | undefined} */
let stale;
/** @type {ReturnType<typeof setTimeout> | undefined} */
let settling;
let renewing = false;
let again = false;
/** When a finger or button went down on the page, while it is down. @type {number | undefined} */
let pressedAt;
/** Longest that a press holds the page as it is: a thing that lies on the glass must not. */
const PRESS_MS = 3_000;

addEventListener('pointerdown', () => (pressedAt = performance.now()));
// Of the window, not of what had the focus: pressing takes that, and goes on.
for (const name of ['pointerup', 'pointercancel', 'blur']) addEventListener(name, () => (pressedAt = undefined));

/** Whether somebody presses something now: what they press must not move or go meanwhile. */
const isPressed = () => pressedAt !== undefined && performance.now() - pressedAt < PRESS_MS;

/** Whether what is kept here has taken the page over. */
const isAlone = () => document.documentElement.dataset.alone !== undefined;
/** @returns {HTMLElement | null} */
const frame = () => document.getElementById('frame');

/** A word on the stream. Only these count: a page fetched meanwhile is fresh, yet nothing would
 * come by itself. @param {string} [time] */
function heard(time) {
  if (time) hear(time);
  heardAt = performance.now();
  heardServer = now();
  clearTimeout(stale);
  stale = setTimeout(watch, STALE_MS);
  show();
}

function open() {
  const url = frame()?.dataset.stream;
  if (!url) return;
  stream?.close();
  openedAt = performance.now();
  const entry = frame()?.dataset.entry ?? '0';
  stream = new EventSource(`${url}${url.includes('?') ? '&' : '?'}after=${encodeURIComponent(entry)}`);
  stream.addEventListener('error', async () => {
    const ends = Date.parse(frame()?.dataset.certificateEnds ?? '');
    if (!(now() >= ends) || !told() || isAlone()) return;
    // From its certificate's end on a browser takes no answer any more, once it looks: then waiting is vain.
    const answers = await fetch('/api/health', { cache: 'no-store' }).then((answer) => answer.ok, () => false);
    if (!answers) document.dispatchEvent(new CustomEvent('box-silent', { detail: { heardAt: heardServer } }));
  });
  stream.addEventListener('beat', (event) => {
    const beat = parse(event);
    heard(beat.now);
    if (Number(beat.entry) > Number(frame()?.dataset.entry)) settle();
  });
  stream.addEventListener('picture', (event) => {
    const word = parse(event);
    heard(word.now);
    pictureHeard(word);
    settle();
  });
  stream.addEventListener('notices', (event) => {
    heard(parse(event).now);
    settle();
  });
}

/** @param {Event} event @returns {Record<string, any>} */
function parse(event) {
  try {
    const value = JSON.parse(/** @type {MessageEvent} */ (event).data);
    return value && typeof value === 'object' ? value : {};
  } catch {
    // A beat without readable content is still a sign of life; its time is not taken.
    return {};
  }
}

function settle() {
  clearTimeout(settling);
  settling = setTimeout(renew, SETTLE_MS);
}

/** @param {string} url */
const ask = (url) => fetch(url, { headers: { 'X-Fragment': 'main' }, credentials: 'same-origin', signal: AbortSignal.timeout(15_000) });

/** Fetches this page again and morphs the frame into it. */
export async function renew() {
  if (isAlone()) return;
  if (isPressed()) return settle();
  if (renewing) {
    again = true;
    return;
  }
  renewing = true;
  try {
    const asked = performance.now();
    let answer = await ask(location.href);
    // What answers a form may have an address that only forms are sent to: its alerts are renewed all the same.
    const isAnswer = frame()?.dataset.answer !== undefined;
    const [own] = /^\/(helm|deck|desk)\/[0-9a-f-]{36}/.exec(location.pathname) ?? [];
    const elsewhere = isAnswer && answer.status === 404 && own !== undefined;
    if (elsewhere) answer = await ask(own);
    if (isLeaving()) return;
    // Signed out, moved or refused: only a real page load can show it.
    if (answer.redirected) return location.reload();
    if (!answer.ok) return;
    const page = new DOMParser().parseFromString(await answer.text(), 'text/html');
    const next = page.getElementById('frame');
    if (!next) return;
    if (isPressed()) return settle();
    if (next.dataset.build !== frame()?.dataset.build) document.dispatchEvent(new Event('newer'));
    hear(next.dataset.now ?? '', (asked + performance.now()) / 2);
    setSpeed(Number(next.dataset.clockSpeed ?? 1));
    // A refusal of a tap goes on below its reason, if it is at its address and nothing was typed.
    const goesOn = !elsewhere && document.querySelector('#problem') !== null && !document.querySelector('main form[data-edited]');
    morph(next, isAnswer && !goesOn);
    show();
    document.dispatchEvent(new Event('renewed'));
  } catch {
    // The network is gone: the age of the page says so, and the stream is opened anew.
  } finally {
    renewing = false;
    if (again) {
      again = false;
      settle();
    }
  }
}

/** Whether a node is, or holds, a form somebody is filling in. @param {Node} node */
function edited(node) {
  return node instanceof Element && (node.matches('form[data-edited]') || node.querySelector('form[data-edited]') !== null);
}

/** @param {HTMLElement} next @param {boolean} keeps whether what the page says stays: a list to be looked at
 * before it is sent is not at this address for who asks for it again */
function morph(next, keeps) {
  const held = frame();
  const { Idiomorph } = /** @type {any} */ (globalThis);
  if (!held || !Idiomorph) return;
  Idiomorph.morph(held, next, {
    ignoreActiveValue: true,
    callbacks: {
      beforeNodeMorphed(/** @type {Node} */ was, /** @type {Node} */ becomes) {
        if (was instanceof HTMLFormElement && was.dataset.edited !== undefined) return false;
        if (was instanceof HTMLElement && was.id === 'alone-logs') return false;
        if (keeps && was instanceof HTMLElement && (was.id === 'main' || was.classList.contains('shelf'))) return false;
        if (was instanceof HTMLDetailsElement && was.open && becomes instanceof HTMLDetailsElement) becomes.open = true;
        return true;
      },
      // Why something was refused stays until the next answer.
      beforeNodeRemoved: (/** @type {Node} */ node) => !edited(node) && !(node instanceof Element && node.id === 'problem'),
      beforeAttributeUpdated: (/** @type {string} */ name, /** @type {Node} */ node) =>
        !(node instanceof Element && (node.matches('[data-sound-switch]') || name === 'data-answer')),
    },
  });
}

document.addEventListener('input', (event) => {
  const form = event.target instanceof Element ? event.target.closest('form') : null;
  if (form) form.dataset.edited = '';
});

/** Shows how old the page is. */
function show() {
  const age = performance.now() - heardAt;
  const link = !stream ? 'page' : age >= LOST_MS ? 'lost' : age >= STALE_MS ? 'stale' : 'live';
  document.documentElement.dataset.link = link;
  for (const badge of document.querySelectorAll('[data-age]')) {
    if (!(badge instanceof HTMLElement) || link === 'page') continue;
    badge.dataset.link = link;
    const text = badge.querySelector('[data-age-text]');
    const minutes = Math.floor(age / 60_000);
    const shown = minutes > 1 ? `${minutes} min` : `${Math.floor(age / 5000) * 5} s`;
    const words =
      link === 'live'
        ? badge.dataset.wordFresh
        : badge.dataset.wordStale?.replace('%since%', local(heardServer, true)).replace('%age%', shown);
    if (text && words !== undefined && text.textContent !== words) text.textContent = words;
  }
}

function watch() {
  if (isAlone()) return;
  show();
  const age = performance.now() - heardAt;
  // The picture is at hand: from here on this device goes on by itself.
  if (age >= STALE_MS && told()) {
    document.dispatchEvent(new CustomEvent('box-silent', { detail: { heardAt: heardServer } }));
    if (isAlone()) return stream?.close();
  }
  // A stream that is open but silent is half dead, and one that gave up stays closed.
  const silent = age >= STALE_MS && performance.now() - openedAt >= STALE_MS;
  if (silent || (stream?.readyState === EventSource.CLOSED && performance.now() - openedAt >= 3000)) open();
}

if (frame()?.dataset.stream) {
  open();
  stale = setTimeout(watch, STALE_MS);
  setInterval(watch, TICK_MS);
  document.addEventListener('renewed', show);
  document.addEventListener('visibilitychange', () => {
    if (document.visibilityState === 'visible') settle();
  });
  addEventListener('online', () => open());
  addEventListener('pageshow', (event) => {
    if (event.persisted) {
      open();
      settle();
    }
  });
}
