// The server's clock, counted on by the monotonic clock of the device: a tablet whose own clock
// is wrong makes nothing late or safe.

/** Server time in ms at the last word from the server, and the device's monotonic ms then. */
let known = { server: NaN, here: 0 };
let rate = 1;

/** The UTC offset of the server's times, in minutes: pages show the boat's local time. */
let offset = 0;

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

/** How many of its seconds pass in one of life. */
export const speed = () => rate;

/** Server time now, in ms; NaN before the server was heard. */
export function now() {
  return known.server + (performance.now() - known.here) * rate;
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
