// Counts the figures on, moves the rails, and changes a group's phase when its instant passes,
// even if the server is silent.
import { local, now } from './clock.js';

/** @param {string} id @param {string} text */
function announce(id, text) {
  const place = document.getElementById(id);
  if (place) place.textContent = text;
}

/**
 * A span as it is shown: whole minutes, and steps of 5 s under two minutes. Time left and time
 * gone are both rounded down.
 * @param {number} ms
 * @returns {{ text: string, seconds: boolean }}
 */
export function span(ms) {
  const seconds = Math.floor(Math.abs(ms) / 1000);
  if (seconds >= 120) return { text: String(Math.floor(seconds / 60)), seconds: false };
  const step = Math.floor(seconds / 5) * 5;
  return { text: `${Math.floor(step / 60)}:${String(step % 60).padStart(2, '0')}`, seconds: true };
}

/** The phase that follows from the time alone, with the instant its figure counts to.
 * @param {DOMStringMap} at @param {number} time
 * @returns {[string, string | undefined]} */
export function phase(at, time) {
  const is = (/** @type {string | undefined} */ text) => time >= Date.parse(text ?? '');
  if (is(at.overdue)) return ['overdue', at.overdue];
  if (is(at.latest)) return ['late', at.overdue];
  if (is(at.expected)) return ['due', at.latest];
  if (is(at.earliest)) return ['window', at.expected];
  return ['down', at.expected];
}

/** @type {Record<string, string>} */
const URGENCY = { late: 'warning', overdue: 'alarm' };
/** @type {Record<string, string>} */
const WORD = { down: 'wordDown', window: 'wordWindow', due: 'wordDue', late: 'wordLate', overdue: 'wordOverdue' };
/** @type {Record<string, string>} */
const CAPTION = { down: 'captionDown', window: 'captionWindow', due: 'captionDue', late: 'captionLate', overdue: 'captionOverdue' };
const ORDER = Object.keys(WORD);

/** @param {HTMLElement} row @param {number} time */
function tickRow(row, time) {
  const [next, counts] = phase(row.dataset, time);
  const held = row.dataset.phase ?? '';
  // Only forward: what the server already calls late is never called due by a page.
  if (ORDER.indexOf(next) <= ORDER.indexOf(held)) return;
  row.dataset.phase = next;
  if (URGENCY[next]) row.dataset.urgency = URGENCY[next];
  if (next === 'overdue' || next === 'late') {
    row.dataset.alertState = 'active';
    row.dataset.alertPriority = URGENCY[next];
    row.dataset.alertSince = new Date(time).toISOString();
  }
  const word = row.dataset[WORD[next]] ?? next;
  const shown = row.querySelector('[data-phase-word]');
  if (shown) shown.textContent = word;
  const caption = row.querySelector('[data-caption]');
  if (caption) caption.textContent = row.dataset[CAPTION[next]] ?? '';
  const figure = row.querySelector('[data-due]');
  if (figure instanceof HTMLElement && counts) figure.dataset.due = counts;
  announce(next === 'overdue' ? 'say-at-once' : 'say-politely', `${row.dataset.name}: ${word}`);
}

/** @param {HTMLElement} figure @param {number} time */
function tickFigure(figure, time) {
  const { text, seconds } = span(Date.parse(figure.dataset.due ?? '') - time);
  if (figure.textContent === text) return;
  figure.textContent = text;
  const unit = figure.parentElement?.querySelector('[data-unit]');
  if (unit instanceof HTMLElement) {
    unit.textContent = (seconds ? unit.dataset.unitSeconds : unit.dataset.unit) ?? '';
  }
  const row = figure.closest('[data-name]');
  if (row instanceof HTMLElement && !seconds && ['10', '5', '2'].includes(text)) {
    const caption = row.querySelector('[data-caption]')?.textContent ?? '';
    announce('say-politely', `${row.dataset.name}: ${caption} ${text} ${unit?.textContent ?? ''}`);
  }
}

/** @param {string} selector @param {(one: HTMLElement) => void} act */
function each(selector, act) {
  for (const one of document.querySelectorAll(selector)) {
    if (one instanceof HTMLElement || one instanceof SVGElement) act(/** @type {HTMLElement} */ (one));
  }
}

/** One step of everything that counts; also called after the page was renewed. */
export function tick() {
  const time = now();
  if (Number.isNaN(time)) return;
  each('[data-earliest]', (row) => tickRow(row, time));
  each('[data-due]', (figure) => tickFigure(figure, time));
  each('[data-rail-from]', (rail) => {
    // Five units of the drawing are a minute.
    const moved = ((time - Date.parse(rail.dataset.railFrom ?? '')) / 60000) * -5;
    if (Number.isFinite(moved)) rail.setAttribute('transform', `translate(${moved.toFixed(1)} 0)`);
  });
  each('[data-clock]', (clock) => {
    const words = clock.textContent ?? '';
    const next = words.replace(/\d\d:\d\d/, local(time));
    if (next !== words) clock.textContent = next;
  });
  each('[data-silenced-until]', (alert) => {
    if (time >= Date.parse(alert.dataset.silencedUntil ?? '')) {
      delete alert.dataset.silencedUntil;
      alert.dataset.alertState = 'active';
    }
  });
  each('[data-quiet-left]', (left) => {
    const seconds = Math.ceil((Date.parse(left.dataset.quietLeft ?? '') - time) / 1000);
    left.textContent = seconds > 0 ? `${seconds} s` : '';
  });
}

setInterval(tick, 500);
document.addEventListener('visibilitychange', tick);
document.addEventListener('renewed', tick);
tick();
