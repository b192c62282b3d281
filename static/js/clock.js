// The server's clock, counted on by the monotonic clock of the device: a tablet whose own clock
// is wrong makes nothing late or safe. How far the device's wall clock is off is measured on
// answers of the box, each with half its round trip as bound.

/** Server time in ms at the last word from the server, and the device's monotonic ms then. */
let known = { server: NaN, here: 0 };
let rate = 1;

/** The UTC offset of the server's times, in minutes: pages show the boat's local time. */
let offset = 0;

/** Measurements kept: the surest of the last ones counts. */
const KEPT = 6;
/** A wall clock that moved so much against the monotonic one was set: what was measured before is void. */
const SET_MS = 500;

/** @typedef {{ offset: number, bound: number }} Skew ms by which the device's wall clock is ahead of the box, and by how much that may be wrong */
/** @type {Skew[]} */
let measured = [];
let lead = NaN;

/**
 * Takes the server's time.
 * @param {string} text RFC 3339
 * @param {number} [here] monotonic ms at which it was true
 */
export function hear(text, here = performance.now()) {
  const server = Date.parse(text);
  if (Number.isNaN(server)) return;
  known = { server, here };
  const zone = /([+-])(\d\d):(\d\d)$/.exec(text);
  if (zone) offset = (zone[1] === '-' ? -1 : 1) * (Number(zone[2]) * 60 + Number(zone[3]));
}

/** How fast the server's clock runs: more than 1 in a drill. @param {number} times */
export function setSpeed(times) {
  if (times > 0 && Number.isFinite(times)) rate = times;
}

/** The boat's UTC offset, in minutes. */
export const zone = () => offset;

/** How many of its seconds pass in one of life. */
export const speed = () => rate;

/** Server time now, in ms; NaN before the server was heard. */
export function now() {
  return known.server + (performance.now() - known.here) * rate;
}

/** How long ago the server was heard, in ms; NaN before that. */
export function heardAgo() {
  return Number.isNaN(known.server) ? NaN : performance.now() - known.here;
}

/**
 * Measures how far this device's wall clock is off, by the box's time on an answer.
 * @param {string | null} text RFC 3339, as the answer carries it
 * @param {number} sent monotonic ms when it was asked
 */
export function measure(text, sent) {
  const box = Date.parse(text ?? '');
  const got = performance.now();
  if (Number.isNaN(box) || got < sent) return;
  const wall = Date.now();
  // The box answered at some instant between: the middle, give or take half the way.
  const bound = (got - sent) / 2 + 1;
  const moved = Math.abs(wall - got - lead) > SET_MS;
  if (moved) measured = [];
  lead = wall - got;
  measured.push({ offset: wall - bound + 1 - box, bound });
  if (measured.length > KEPT) measured.shift();
}

/** The surest measurement; none before an answer was measured. @returns {Skew | undefined} */
export function skew() {
  // Set since: only the next answer tells.
  if (Math.abs(Date.now() - performance.now() - lead) > SET_MS) return undefined;
  return measured.reduce((/** @type {Skew | undefined} */ best, one) => (best && best.bound <= one.bound ? best : one), undefined);
}

/** Boat time as HH:MM, or HH:MM:SS. @param {number} ms @param {boolean} [seconds] */
export function local(ms, seconds = false) {
  return new Date(ms + offset * 60000).toISOString().slice(11, seconds ? 19 : 16);
}

const frame = document.getElementById('frame');
if (frame?.dataset.now) {
  const [entry] = performance.getEntriesByType('navigation');
  const answered = entry instanceof PerformanceNavigationTiming ? entry.responseStart : 0;
  hear(frame.dataset.now, answered);
  setSpeed(Number(frame.dataset.clockSpeed ?? 1));
}
