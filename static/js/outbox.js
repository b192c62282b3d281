// What this device saw and has not delivered. An act is kept first and then sent; it is delivered
// once and in order, however often the network flaps or the tab is killed: its events keep their
// identity, and once they were sent they keep their number too.
import { now, speed } from './clock.js';
import { acts, change, drop, held, keep, waiting } from './kept.js';
import { author, told } from './picture.js';

/**
 * @typedef {Record<string, any>} Json
 * @typedef {import('./said.js').Draft} Draft
 * @typedef {import('./kept.js').Act & { nth: number }} Kept
 */

const ANSWER_MS = 10_000;
const LARGEST_BATCH = 500;

/** Twelve random bytes and the time: version 7 of RFC 9562; randomUUID is missing over plain http. */
export function newId() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  const at = now();
  new DataView(bytes.buffer).setBigUint64(0, (BigInt(Math.max(0, Math.round(Number.isNaN(at) ? Date.now() : at))) << 16n) | BigInt(((bytes[6] ?? 0) << 8) | (bytes[7] ?? 0)));
  return uuid(bytes, 7);
}

/** @param {Uint8Array} bytes @param {number} version */
function uuid(bytes, version) {
  bytes[6] = ((bytes[6] ?? 0) & 0x0f) | (version << 4);
  bytes[8] = ((bytes[8] ?? 0) & 0x3f) | 0x80;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, '0')).join('');
  return `${hex.slice(0, 8)}-${hex.slice(8, 12)}-${hex.slice(12, 16)}-${hex.slice(16, 20)}-${hex.slice(20)}`;
}

/** The identities that the box gives the events of a form: out of its number and what was typed (RFC 9562,
 * version 8), so that a form that arrived after all and these events are the same. Needs a secure origin.
 * @param {string} body @param {number} count @returns {Promise<string[] | null>} */
async function idsOfForm(body, count) {
  const fields = [...new URLSearchParams(body)];
  const number = fields.find(([name]) => name === 'form')?.[1]?.trim();
  if (!number || !globalThis.crypto?.subtle) return null;
  const parts = [Uint8Array.from(number.replaceAll('-', '').match(/../g) ?? [], (pair) => parseInt(pair, 16))];
  for (const part of fields.flat()) {
    const bytes = new TextEncoder().encode(part);
    const length = new Uint8Array(8);
    new DataView(length.buffer).setBigUint64(0, BigInt(bytes.length));
    parts.push(length, bytes);
  }
  const all = new Uint8Array(await new Blob(parts).arrayBuffer());
  const digest = new Uint8Array(await crypto.subtle.digest('SHA-256', all)).slice(0, 16);
  return Array.from({ length: count }, (_, nth) => {
    const bytes = digest.slice();
    bytes[15] = nth;
    return uuid(bytes, 8);
  });
}

/** Keeps an act on this device. When this resolves it is on the medium.
 * @param {string} trip @param {Draft[]} drafts @param {string} words what it says, for the list of what waits
 * @param {{ action: string, body: string }} [form] the page's own form, which may be tried first
 * @returns {Promise<Kept>} */
export async function put(trip, drafts, words, form) {
  const kept = await held(trip);
  const [who, knows] = [author() ?? kept?.who, told()?.knows ?? kept?.picture.knows ?? {}];
  if (!who) throw new Error('nobody is signed in on this device');
  const at = now();
  const ids = form ? await idsOfForm(form.body, drafts.length) : null;
  const events = drafts.map((draft, nth) => ({
    id: ids?.[nth] ?? newId(),
    trip,
    kind: draft.kind,
    // A payload has the version of the newest field that it uses.
    v: draft.kind === 'left-surface' && draft.payload.owes ? 2 : 1,
    payload: draft.payload,
    about: about(draft.about),
    device: who.device,
    knows,
    by: { crew: who.crew, name: who.name, role: who.role },
    at: new Date(draft.at ?? at).toISOString(),
    app: who.app,
  }));
  const made = { wall: Date.now(), mono: performance.now(), origin: performance.timeOrigin };
  /** @type {import('./kept.js').Act} */
  const act = { trip, events, made, words, ...(form ? { form, tried: true } : {}) };
  const nth = await keep(act);
  tell();
  return { ...act, nth };
}

/** @param {Json} of */
const about = (of) => Object.fromEntries(Object.entries(of).filter(([, value]) => (Array.isArray(value) ? value.length : value !== undefined && value !== null)));

/** Tells the page that what waits has changed. */
function tell() {
  document.dispatchEvent(new Event('outbox'));
}

/** The own events that a picture does not hold yet. @param {string} trip @param {Json} picture @returns {Promise<Json[]>} */
export async function pendingOf(trip, picture) {
  const all = await acts(trip);
  return all.filter((act) => !act.refused).flatMap((act) => act.events)
    .filter((event) => event.device_seq === undefined || event.device_seq > Number(picture.knows?.[event.device] ?? 0));
}

/** An act that is delivered, or that the page's own form has done. @param {number[]} nths */
export async function done(nths) {
  await drop(nths);
  tell();
}

/** @type {Promise<Outcome> | undefined} */
let running;
/** @typedef {'empty' | 'delivered' | 'no-answer' | 'sign-in' | 'refused'} Outcome */

/** Whoever changes what waits does so alone, over all tabs: an act is not sent while it is taken back.
 * @template T @param {() => Promise<T>} work @returns {Promise<T>} */
export const exclusively = (work) => (navigator.locks ? /** @type {Promise<any>} */ (navigator.locks.request('deckwatch-outbox', work)) : work());

/** Delivers everything that waits, trip by trip; one at a time over all tabs. @returns {Promise<Outcome>} */
export function deliver() {
  running ??= exclusively(() => all().finally(() => (running = undefined)));
  return running;
}

/** Takes an act back: what nobody else has is dropped, what left this device is voided. An act that has arrived
 * meanwhile is taken back on the box's own page. @param {string} trip @param {number} nth @param {string} words */
export async function takeBack(trip, nth, words) {
  const voided = await exclusively(async () => {
    const act = (await acts(trip)).find((one) => one.nth === nth);
    if (!act) return [];
    if (act.tried || act.events.some((event) => event.device_seq !== undefined)) return act.events;
    await done([nth]);
    return [];
  });
  if (!voided.length) return;
  await put(trip, voided.map((one) => ({ kind: 'voided', payload: { of: one.id, reason: words }, about: one.about })), words);
}

/** An act that the box did not take and that a person gives up. @param {string} trip @param {number} nth */
export const giveUp = (trip, nth) =>
  exclusively(async () => {
    if ((await acts(trip)).some((one) => one.nth === nth && one.refused)) await done([nth]);
  });

async function all() {
  /** @type {Outcome} */
  let outcome = 'empty';
  for (const trip of await waiting()) {
    const of = await deliverTrip(trip);
    if (of === 'no-answer') return of;
    // One trip that has to wait keeps no other.
    if (of !== 'empty' && outcome !== 'sign-in') outcome = of;
  }
  return outcome;
}

/** @param {string} trip @returns {Promise<Outcome>} */
async function deliverTrip(trip) {
  /** @type {Outcome} */
  let outcome = 'empty';
  for (;;) {
    // An act of who was signed in before waits for that person; it keeps nobody else's.
    const crew = author()?.crew;
    const waits = (await acts(trip)).filter((act) => !act.refused && (!crew || act.events.every((event) => event.by.crew === crew)));
    if (!waits.length) return outcome;
    const batch = await numbered(trip, waits.slice(0, LARGEST_BATCH));
    if (typeof batch === 'string') return batch;
    const answer = await send(trip, batch);
    if (answer === 'taken') {
      await done(batch.map((act) => act.nth));
      outcome = 'delivered';
      continue;
    }
    if (answer !== 'unsound') return answer;
    // One of them is not taken as it is: each goes alone, in order, so that the rest arrives.
    for (const act of batch) {
      const [one] = /** @type {Kept[]} */ (await renumbered(trip, act));
      if (!one) return 'no-answer';
      const alone = await send(trip, [one]);
      if (alone === 'taken') await done([act.nth]);
      else if (alone === 'unsound') {
        await change({ ...one, refused: lastReason });
        tell();
        outcome = 'refused';
      } else return alone;
    }
  }
}

/** Gives each event the number it will have, and keeps that before anything is sent: whatever becomes of the answer,
 * the same number is sent again. @param {string} trip @param {Kept[]} batch @returns {Promise<Kept[] | Outcome>} */
async function numbered(trip, batch) {
  const fresh = batch.some((act) => act.events.some((event) => event.device_seq === undefined));
  if (!fresh) return batch;
  const knows = await known(trip);
  if (typeof knows === 'string') return knows;
  /** @type {Map<string, number>} */
  const next = new Map();
  const changed = new Set();
  for (const act of batch) {
    for (const event of act.events) {
      const last = Math.max(next.get(event.device) ?? 0, Number(knows[event.device] ?? 0));
      if (event.device_seq === undefined) {
        event.device_seq = last + 1;
        changed.add(act);
      }
      next.set(event.device, Math.max(last, event.device_seq));
    }
  }
  await change(...changed);
  return batch;
}

/** An act whose number somebody else of this device took meanwhile gets the next; one that has arrived keeps its own.
 * @param {string} trip @param {Kept} act */
async function renumbered(trip, act) {
  const answer = await send(trip, [act]);
  if (answer === 'taken') return [act];
  if (answer !== 'unsound' || !lastClash) return answer === 'unsound' ? [act] : [];
  for (const event of act.events) delete event.device_seq;
  const again = await numbered(trip, [act]);
  return typeof again === 'string' ? [] : again;
}

/** What the box holds of each device. @param {string} trip @returns {Promise<Json | Outcome>} */
async function known(trip) {
  const answer = await ask(`/api/trips/${trip}/picture`);
  if (!answer) return 'no-answer';
  if (answer.status === 401 || answer.status === 403) return 'sign-in';
  // A box without the trip, 404, may be the wrong one or new: what waits goes on waiting.
  if (!answer.ok) return 'no-answer';
  return (await answer.json()).picture?.knows ?? {};
}

let lastReason = '';
let lastClash = false;

/** @param {string} trip @param {Kept[]} batch @returns {Promise<Outcome | 'taken' | 'unsound'>} */
async function send(trip, batch) {
  const events = batch.flatMap((act) => act.events);
  const ages = batch.flatMap((act) => act.events.map(() => age(act.made)));
  const answer = await ask(`/api/trips/${trip}/events`, { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify({ events, ages }) });
  if (!answer) return 'no-answer';
  if (answer.ok) return 'taken';
  const problem = await answer.json().catch(() => ({}));
  const faults = (problem.faults ?? []).map((/** @type {Json} */ one) => [one.path, one.what].filter(Boolean).join(' '));
  lastReason = faults.join('; ') || [problem.title, problem.detail].filter(Boolean).join(': ') || `${answer.status}`;
  lastClash = answer.status === 409;
  if (answer.status === 401) return 'sign-in';
  // Not now, or not by who is signed in: it stays and is tried again.
  if (answer.status === 403) return 'sign-in';
  if (answer.status >= 500 || answer.status === 429 || answer.status === 404) return 'no-answer';
  return 'unsound';
}

/** How old an act is, by both clocks; the monotonic one means something within one page only.
 * @param {import('./kept.js').Made} made */
function age(made) {
  const times = (/** @type {number} */ ms) => Math.max(0, Math.round(ms * speed()));
  const mono = made.origin === performance.timeOrigin ? times(performance.now() - made.mono) : null;
  // A wall clock that was set back tells no age.
  return { wall_ms: times(Date.now() - made.wall), ...(mono === null ? {} : { mono_ms: mono }) };
}

/** @param {string} url @param {RequestInit} [init] @returns {Promise<Response | null>} null: no answer */
async function ask(url, init = {}) {
  try {
    return await fetch(url, { credentials: 'same-origin', signal: AbortSignal.timeout(ANSWER_MS), ...init });
  } catch {
    return null;
  }
}
