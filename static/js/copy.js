// The second copy: keeps this device's copy of the log current, and hands the box what it lacks.
//
// A box that holds the trip and lacks entries of it gets them without being asked: that only adds
// facts, and each that a box once acknowledged must be there again. A box that does not hold the
// trip at all may be a wrong one, so there a person says so first (log-offer.js).
import * as kept from './kept.js';

const SETTLE_MS = 2000;
/** A large part of a log over a slow network takes its time. */
const ANSWER_MS = 30_000;
/** Lines and characters in one delivery: what the box writes by one commit. */
const MOST_LINES = 400;
const MOST_CHARACTERS = 1_500_000;

/**
 * @typedef {{ box: 'here' | 'lost' | 'away', lacks: string[], differs: boolean }} Compared
 * @typedef {{ fresh: number, there: number, aside: number, refused: string[], stopped?: 'closed' | 'away' | 'refused' }} Handed
 * @typedef {{ through: number, highest: number, missing: [number, number][] }} Numbers
 */

/** @template T @param {string} key @param {T} otherwise @returns {T} */
function remembered(key, otherwise) {
  try {
    return JSON.parse(localStorage.getItem(key) ?? '') ?? otherwise;
  } catch {
    // Nothing yet, or nothing that can be read: it is found out anew.
    return otherwise;
  }
}

/** @param {string} key @param {unknown} value */
function remember(key, value) {
  try {
    localStorage.setItem(key, JSON.stringify(value));
  } catch {
    // Full or forbidden: next time everything is asked for again.
  }
}

/** @param {string} trip */
const markKey = (trip) => `deckwatch-copy-${trip}`;
/** @param {string} trip */
const asideKey = (trip) => `deckwatch-aside-${trip}`;
const LOGS = 'deckwatch-logs';

/** @param {string} path @param {RequestInit} [options] @returns {Promise<Response | undefined>} nothing if the box is not in reach */
async function ask(path, options) {
  try {
    return await fetch(path, { credentials: 'same-origin', signal: AbortSignal.timeout(ANSWER_MS), ...options });
  } catch {
    return undefined;
  }
}

/** @param {string} line @returns {any} */
const parsed = (line) => JSON.parse(line);

/** Trips of which this device has lines or a picture. @returns {Promise<string[]>} */
export async function trips() {
  const pictured = (await kept.trips()).map((one) => one.trip);
  return [...new Set([...pictured, ...remembered(LOGS, /** @type {string[]} */ ([]))])];
}

/** Adds lines that somebody handed over. @param {string} trip @param {string[]} lines */
export async function add(trip, lines) {
  await kept.addLines(trip, lines);
  remember(LOGS, [...new Set([...remembered(LOGS, /** @type {string[]} */ ([])), trip])]);
}

/** Fetches what the box has after an entry. @param {string} trip @param {number} after @returns {Promise<string[]>} */
async function fetchAfter(trip, after) {
  const answer = await ask(`/api/trips/${trip}/log?after=${after}`);
  if (!answer?.ok) return [];
  const lines = (await answer.text()).split('\n').filter((line) => line !== '');
  const last = lines.at(-1);
  if (last === undefined) return [];
  await add(trip, lines);
  const { receipt, chain } = parsed(last);
  remember(markKey(trip), { entry: receipt.entry, chain });
  return lines;
}

/** @param {Record<string, Numbers>} devices @param {any} event */
function holds(devices, event) {
  const of = devices[event.device];
  const seq = event.device_seq;
  return of !== undefined && seq <= of.highest && !of.missing.some(([first, last]) => first <= seq && seq <= last);
}

/** The box's digest of these lines: SHA-256 over the hashes, sorted, each once. Nothing where the
 * browser gives none, or where a line has no hash. @param {any[]} told @returns {Promise<string | undefined>} */
async function digest(told) {
  if (!globalThis.crypto?.subtle || told.some((line) => !line.hash)) return undefined;
  const hashes = [...new Set(told.map((line) => String(line.hash)))].sort();
  const bytes = Uint8Array.from(hashes.join('').match(/../g) ?? [], (digits) => parseInt(digits, 16));
  const made = new Uint8Array(await crypto.subtle.digest('SHA-256', bytes));
  return Array.from(made, (byte) => byte.toString(16).padStart(2, '0')).join('');
}

/** Brings the copy up to date and finds what the box lacks. @param {string} trip @returns {Promise<Compared>} */
export async function compare(trip) {
  const mark = remembered(markKey(trip), { entry: 0, chain: '' });
  const answer = await ask(`/api/trips/${trip}/digest?entry=${mark.entry}`);
  if (answer?.status === 404) return { box: 'lost', lacks: await kept.lines(trip), differs: false };
  if (!answer?.ok) return { box: 'away', lacks: [], differs: false };
  const told = await answer.json();
  // After a loss the box numbers anew: then what is held here is compared with all it has.
  if (told.chain_at !== mark.chain) await fetchAfter(trip, 0);
  else if (told.entry > mark.entry) await fetchAfter(trip, mark.entry);
  const set = remembered(asideKey(trip), /** @type {string[]} */ ([]));
  const asided = (/** @type {any} */ line) => set.includes(line.hash ?? line.event.id);
  let lines = await kept.lines(trip);
  const missing = () => lines.filter((line) => !holds(told.devices, parsed(line).event));
  let lacks = missing();
  if (lines.length - lacks.length < told.entries) {
    // The browser let some of the copy go.
    await fetchAfter(trip, 0);
    lines = await kept.lines(trip);
    lacks = missing();
  }
  let differs = false;
  const made = lacks.length === 0 ? await digest(lines.map(parsed)) : undefined;
  if (made !== undefined && made !== told.digest) {
    const there = new Set((await fetchAfter(trip, 0)).map((line) => parsed(line).hash));
    lacks = there.size === 0 ? [] : (await kept.lines(trip)).filter((line) => !there.has(parsed(line).hash));
    differs = lacks.length > 0;
  }
  return { box: 'here', lacks: lacks.filter((line) => !asided(parsed(line))), differs };
}

/** @param {string[]} lines @returns {string[][]} */
function batches(lines) {
  /** @type {string[][]} */
  const all = [];
  let size = Infinity;
  for (const line of lines) {
    const last = all.at(-1);
    if (!last || last.length >= MOST_LINES || size + line.length > MOST_CHARACTERS) {
      all.push([line]);
      size = line.length;
    } else {
      last.push(line);
      size += line.length;
    }
  }
  return all;
}

/** Hands lines to the box. One that is not sound keeps the others of its delivery not out.
 * @param {string} trip @param {string[]} lines @returns {Promise<Handed>} */
export async function deliver(trip, lines) {
  /** @type {Handed} */
  const handed = { fresh: 0, there: 0, aside: 0, refused: [] };
  const waiting = batches(lines);
  for (let batch = waiting.shift(); batch; batch = waiting.shift()) {
    const answer = await ask(`/api/trips/${trip}/refill`, {
      method: 'POST',
      headers: { 'Content-Type': 'application/jsonl' },
      body: batch.join('\n'),
    });
    if (answer?.status === 422) {
      const faults = /** @type {{ path: string, what: string }[]} */ ((await answer.json()).faults);
      const unsound = new Set(faults.map((fault) => Number(/^line (\d+)/.exec(fault.path)?.[1])).filter((line) => line > 0));
      handed.refused.push(...faults.map((fault) => `${fault.path}: ${fault.what}`));
      const sound = batch.filter((_, nth) => !unsound.has(nth + 1));
      if (unsound.size > 0 && sound.length > 0) waiting.unshift(sound);
      continue;
    }
    if (!answer?.ok) {
      const kind = answer?.status === 403 ? (await answer.json()).type : '';
      handed.stopped = kind === '/problems/closed-trip' ? 'closed' : answer?.status === 403 ? 'refused' : 'away';
      break;
    }
    const told = await answer.json();
    handed.fresh += told.new;
    handed.there += told.repeats;
    handed.aside += told.clashes;
    setAside(trip, batch, told.lines);
  }
  return handed;
}

/** What was kept aside once is not handed over again. @param {string} trip @param {string[]} batch @param {{ line: number, outcome: string }[]} told */
function setAside(trip, batch, told) {
  const clashed = told.filter((one) => one.outcome === 'clash').map((one) => parsed(batch[one.line - 1] ?? '{}'));
  if (clashed.length === 0) return;
  const names = clashed.map((line) => String(line.hash ?? line.event?.id));
  remember(asideKey(trip), [...remembered(asideKey(trip), /** @type {string[]} */ ([])), ...names]);
}

/** Compares, and hands over what a box that holds the trip lacks; tells the page.
 * @param {string} trip */
export async function reconcile(trip) {
  const compared = await compare(trip);
  const owed = compared.box === 'here' ? compared.lacks : [];
  const handed = owed.length > 0 ? await deliver(trip, owed) : undefined;
  document.dispatchEvent(new CustomEvent('copy', { detail: { trip, compared, handed } }));
  return { compared, handed };
}

/** Keeps the copy of a trip current while its pages are open. @param {string} trip */
export function follow(trip) {
  /** @type {ReturnType<typeof setTimeout> | undefined} */
  let settling;
  /** @type {Promise<unknown>} */
  let turn = Promise.resolve();
  // One after the other, so that what is asked and what is kept do not overtake each other. A copy
  // that cannot be kept must not take the watch with it: the console says so.
  const next = (/** @type {() => Promise<unknown>} */ work) => (turn = turn.then(work).catch((cause) => console.warn('copy of the log', cause)));
  const catchUp = async () => {
    const mark = remembered(markKey(trip), { entry: 0, chain: '' });
    if ((await fetchAfter(trip, mark.entry)).length > 0) document.dispatchEvent(new CustomEvent('copy', { detail: { trip } }));
  };
  document.addEventListener('picture', () => {
    clearTimeout(settling);
    settling = setTimeout(() => next(catchUp), SETTLE_MS);
  });
  const whole = () => next(() => reconcile(trip));
  addEventListener('online', whole);
  let link = document.documentElement.dataset.link;
  new MutationObserver(() => {
    const now = document.documentElement.dataset.link;
    if (now === 'live' && link !== 'live' && link !== undefined && link !== 'page') whole();
    link = now;
  }).observe(document.documentElement, { attributes: true, attributeFilter: ['data-link'] });
  whole();
}

/** Where the log is handed over, on the box's page and on a page made alone, the form that needs scripts
 * takes its place; what draws it comes only then. */
async function mount() {
  const place = document.getElementById('alone-logs');
  if (!place || place.dataset.mounted !== undefined) return;
  place.dataset.mounted = '';
  const trip = place.dataset.logOf ?? /^\/(?:helm|deck)\/([0-9a-f-]{36})\//.exec(location.pathname)?.[1];
  try {
    await (await import('./log-handover.js')).render(place, { trip: trip || undefined });
  } catch (cause) {
    // The plain form stays where there is one; the next page that is shown tries again.
    delete place.dataset.mounted;
    console.warn('handing the log over', cause);
  }
}

for (const shown of ['renewed', 'alone-logs']) document.addEventListener(shown, mount);
mount();

const shown = document.getElementById('frame')?.dataset.trip;
if (shown && ['helm', 'deck'].includes(document.documentElement.dataset.place ?? '')) follow(shown);
