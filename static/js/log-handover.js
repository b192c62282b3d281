// Handing the log over: shows what this device holds of a trip, gives it out as a file or as
// codes, and takes in what another device held. Works with and without the box.
import { speed } from './clock.js';
import { add, compare, deliver, trips } from './copy.js';
import * as kept from './kept.js';
import { Collected, readCode, toCodes } from './log-codes.js';
import { draw, look } from './log-scan.js';
import { exclusively, giveUp } from './outbox.js';

/** How long a code stands before the next. */
const CODE_MS = 700;
/** More codes than anybody likes to read. */
const MANY_CODES = 40;

/** @param {string | undefined} words @param {Record<string, unknown>} values */
const filled = (words, values) => Object.entries(values).reduce((text, [name, value]) => text.replaceAll(`%${name}%`, String(value)), words ?? '');

/** @param {string} trip */
async function numbered(trip) {
  const waits = await kept.pending(trip);
  const events = new Map(waits.map(({ event }) => [event.id, event]));
  for (const act of await kept.acts(trip)) {
    if (act.events.every((event) => event.device_seq !== undefined || !events.has(event.id))) continue;
    await kept.change({ ...act, events: act.events.map((event) => events.get(event.id) ?? event) });
  }
  return waits;
}

/** What this device made and did not deliver, as lines without a receipt. Their numbers are kept
 * from now on: elsewhere they stand under them. @param {string} trip @returns {Promise<string[]>} */
export async function undelivered(trip) {
  const waits = await exclusively(() => numbered(trip));
  return waits.map(({ event, made }) => {
    const ages = {
      wall_ms: Math.round((Date.now() - made.wall) * speed()),
      // The monotonic clock of a page that is gone says nothing here.
      mono_ms: made.origin === performance.timeOrigin ? Math.round((performance.now() - made.mono) * speed()) : -1,
    };
    return JSON.stringify({ event, ages: Object.fromEntries(Object.entries(ages).filter(([, ms]) => ms >= 0)) });
  });
}

/** Reads what was pasted or stands in a file: lines, codes, or both.
 * @param {string} text @returns {{ lines: string[], codes: Collected, faulty: number[], strange: number }} */
export function readText(text) {
  const codes = new Collected();
  /** @type {string[]} */
  const lines = [];
  /** @type {number[]} */
  const faulty = [];
  let strange = 0;
  text.split(/\r?\n/).forEach((raw, nth) => {
    // A space may end a code before its stroke, and one that stands before it is a slip.
    const line = raw.trimStart();
    if (line.trim() === '') return;
    if (line.startsWith('LOG1/')) {
      const code = readCode(line);
      if (code) codes.add(code);
      else strange += 1;
    } else if (tripOf(line)) lines.push(line.trim());
    else faulty.push(nth + 1);
  });
  return { lines, codes, faulty, strange };
}

/** @param {string} line @returns {string | undefined} the trip that a line is of */
function tripOf(line) {
  try {
    const { event } = JSON.parse(line);
    const sound = typeof event.id === 'string' && typeof event.trip === 'string' && Number.isInteger(event.device_seq);
    return sound ? event.trip : undefined;
  } catch {
    return undefined;
  }
}

/** @param {string} trip @param {string[]} lines */
function save(trip, lines) {
  const link = document.createElement('a');
  link.href = URL.createObjectURL(new Blob([`${lines.join('\n')}\n`], { type: 'application/jsonl' }));
  link.download = `trip-${trip}.jsonl`;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
}

/** The form and its words: of this page, or of the shell. */
async function pattern() {
  const here = document.getElementById('handover-log');
  if (here instanceof HTMLTemplateElement) return here;
  const shell = await (await fetch('/alone')).text();
  const there = new DOMParser().parseFromString(shell, 'text/html').getElementById('handover-log');
  return there instanceof HTMLTemplateElement ? there : undefined;
}

/**
 * Shows it all in a form, in place of what stands there.
 * @param {HTMLElement} place
 * @param {{ trip?: string }} of the trip; without, one is chosen from those this device holds
 */
export async function render(place, of = {}) {
  const template = await pattern();
  if (!template) return;
  const words = template.dataset;
  const root = document.createElement('form');
  root.append(document.importNode(template.content, true));
  place.replaceChildren(root);
  /** @template {Element} T @param {string} name @param {new () => T} kind @returns {T} */
  const part = (name, kind) => {
    const found = root.querySelector(`[${name}]`);
    if (!(found instanceof kind)) throw new Error(`the page has no ${name}`);
    return found;
  };
  const [boxSays, heldSays, takenSays, faults] = [part('data-box-says', HTMLElement), part('data-held', HTMLElement), part('data-taken-says', HTMLElement), part('data-faults', HTMLElement)];
  const notTaken = part('data-not-taken', HTMLElement);
  const deliverButton = part('data-deliver', HTMLButtonElement);
  const chosen = part('data-trips', HTMLSelectElement);
  let trip = of.trip ?? '';
  /** @type {string[]} */
  let owed = [];

  /** @param {string[]} list */
  const showFaults = (list) => faults.replaceChildren(...list.map((text) => Object.assign(document.createElement('li'), { textContent: text })));

  async function showHeld() {
    if (!trip) return;
    const [lines, waits] = [await kept.lines(trip), await kept.pending(trip)];
    heldSays.textContent = lines.length + waits.length === 0 ? (words.wordNone ?? '') : filled(words.wordHeld, { n: lines.length + waits.length, pending: waits.length });
    await showNotTaken();
  }

  /** What the box did not take, with why; a person may give it up. */
  async function showNotTaken() {
    const refused = (await kept.acts(trip)).filter((act) => act.refused);
    notTaken.replaceChildren(...refused.map((act) => {
      const row = document.createElement('li');
      const button = Object.assign(document.createElement('button'), { type: 'button', className: 'button plain', textContent: words.wordGiveUp ?? '' });
      button.addEventListener('click', () => giveUp(trip, act.nth).then(() => showHeld()));
      row.append(filled(words.wordNotTaken, { act: act.words, why: act.refused }), ' ', button);
      return row;
    }));
  }

  /** @param {string} [before] what was just done */
  async function showBox(before = '') {
    if (!trip) return;
    const { box, lacks, differs } = await compare(trip);
    owed = lacks;
    const told = box === 'away' ? words.wordAway : box === 'lost' ? words.wordLost : differs ? words.wordDiffers : lacks.length > 0 ? words.wordLacks : words.wordSame;
    boxSays.textContent = `${before} ${filled(told, { n: lacks.length })}`.trim();
    deliverButton.hidden = box === 'away' || lacks.length === 0;
    await showHeld();
  }

  async function handToBox() {
    const handed = await deliver(trip, owed);
    const said = [filled(words.wordHanded, { new: handed.fresh, there: handed.there })];
    if (handed.aside > 0) said.push(filled(words.wordClashed, { n: handed.aside }));
    if (handed.stopped === 'closed') said.push(words.wordClosed ?? '');
    if (handed.stopped === 'refused' || handed.refused.length > 0) said.push(words.wordRefused ?? '');
    showFaults(handed.refused);
    await showBox(said.join(' '));
  }

  /** @param {string[]} lines of one or several trips */
  async function takeIn(lines) {
    const all = new Set(lines.map(tripOf));
    for (const one of all) if (one) await add(one, lines.filter((line) => tripOf(line) === one));
    const [first] = all;
    if (first && !all.has(trip)) trip = first;
    takenSays.textContent = filled(words.wordKept, { n: lines.length });
    await listTrips();
    await showBox();
    // Taking it in was the word of a person: a box in reach has it at once.
    if (!deliverButton.hidden) await handToBox();
  }

  /** @param {Collected} codes */
  async function takeCodes(codes) {
    if (codes.missing.length > 0) {
      takenSays.textContent = filled(words.wordPartsMissing, { n: codes.count, of: codes.parts, missing: codes.missing.slice(0, 20).join(', ') });
      return;
    }
    const lines = await codes.lines();
    if (!lines) takenSays.textContent = words.wordDamaged ?? '';
    else await takeIn(lines);
  }

  async function listTrips() {
    if (of.trip) return;
    const all = await trips();
    if (!trip) trip = all[0] ?? '';
    part('data-choose', HTMLElement).hidden = all.length < 2;
    chosen.replaceChildren(...all.map((one) => new Option(one, one, one === trip, one === trip)));
  }

  root.addEventListener('submit', async (event) => {
    event.preventDefault();
    const [file, text] = [part('id="file"', HTMLInputElement), part('id="text"', HTMLTextAreaElement)];
    const [picked, typed] = [file.files?.[0], text.value];
    const given = picked ? await picked.text() : typed;
    const { lines, codes, faulty, strange } = readText(given);
    showFaults([...faulty.slice(0, 20).map((line) => filled(words.wordUnreadable, { line })), ...(strange > 0 ? [words.wordOtherCode ?? ''] : [])]);
    if (lines.length > 0) await takeIn(lines);
    if (codes.count > 0) await takeCodes(codes);
    // Taking in may take a while: what was given meanwhile is not touched.
    if (file.files?.[0] !== picked || text.value !== typed) return;
    if (lines.length > 0) [file.value, text.value] = ['', ''];
    delete root.dataset.edited;
  });

  deliverButton.addEventListener('click', handToBox);
  chosen.addEventListener('change', () => {
    trip = chosen.value;
    showBox();
  });

  async function wanted() {
    const all = root.querySelector('input[name="what"][value="all"]');
    const own = await undelivered(trip);
    return all instanceof HTMLInputElement && all.checked ? [...(await kept.lines(trip)), ...own] : own;
  }

  part('data-save', HTMLButtonElement).addEventListener('click', async () => {
    const lines = trip ? await wanted() : [];
    if (lines.length === 0) heldSays.textContent = words.wordNothing ?? '';
    else save(trip, lines);
  });

  codesShown();
  scanning();

  function codesShown() {
    const [place, canvas, says, pause] = [part('data-codes', HTMLElement), part('data-code', HTMLCanvasElement), part('data-code-says', HTMLElement), part('data-pause', HTMLButtonElement)];
    /** @type {string[]} */
    let codes = [];
    let nth = 0;
    /** @type {ReturnType<typeof setInterval> | undefined} */
    let turning;

    async function show() {
      const code = codes[nth];
      if (code === undefined) return;
      await draw(canvas, code);
      canvas.dataset.part = String(nth + 1);
      // Said once a round: a reader of screens need not hear every number.
      const many = codes.length > MANY_CODES ? ` ${filled(words.wordMany, { of: codes.length })}` : '';
      says.textContent = filled(words.wordCode, { n: nth + 1, of: codes.length }) + many;
    }
    const step = (/** @type {number} */ by) => {
      nth = (nth + by + codes.length) % codes.length;
      show();
    };
    const go = (/** @type {boolean} */ on) => {
      clearInterval(turning);
      turning = on && codes.length > 1 ? setInterval(() => step(1), CODE_MS) : undefined;
      says.setAttribute('aria-live', turning ? 'off' : 'polite');
      pause.firstElementChild?.replaceChildren((turning ? words.wordPause : words.wordGoOn) ?? '');
    };
    part('data-show', HTMLButtonElement).addEventListener('click', async () => {
      const lines = trip ? await wanted() : [];
      if (lines.length === 0) {
        heldSays.textContent = words.wordNothing ?? '';
        return;
      }
      codes = await toCodes(trip, lines);
      nth = 0;
      place.hidden = false;
      const ways = place.querySelector('[data-ways]');
      if (ways instanceof HTMLElement) ways.hidden = codes.length < 2;
      await show();
      go(!matchMedia('(prefers-reduced-motion: reduce)').matches);
    });
    pause.addEventListener('click', () => go(turning === undefined));
    for (const [name, by] of /** @type {const} */ ([['data-previous', -1], ['data-next', 1]])) {
      part(name, HTMLButtonElement).addEventListener('click', () => {
        go(false);
        step(by);
      });
    }
  }

  function scanning() {
    const [place, video] = [part('data-camera', HTMLElement), part('data-video', HTMLVideoElement)];
    /** @type {(() => void) | undefined} */
    let stop;
    const end = () => {
      stop?.();
      stop = undefined;
      place.hidden = true;
    };
    part('data-scan', HTMLButtonElement).addEventListener('click', async () => {
      // Browsers give no camera to a page that came over plain http from elsewhere.
      if (!globalThis.isSecureContext || !navigator.mediaDevices) {
        takenSays.textContent = words.wordCameraInsecure ?? '';
        return;
      }
      end();
      const codes = new Collected();
      place.hidden = false;
      takenSays.textContent = words.wordScanning ?? '';
      try {
        stop = await look(video, (text) => {
          const code = readCode(text);
          if (!code) takenSays.textContent = words.wordOtherCode ?? '';
          else if (codes.add(code)) {
            takenSays.textContent = filled(words.wordScanned, { n: codes.count, of: codes.parts, missing: codes.missing.slice(0, 20).join(', ') });
            if (codes.missing.length === 0) {
              end();
              takeCodes(codes);
            }
          }
        });
      } catch (why) {
        end();
        const denied = why instanceof DOMException && why.name === 'NotAllowedError';
        takenSays.textContent = (denied ? words.wordCameraDenied : words.wordNoCamera) ?? '';
      }
    });
    part('data-stop', HTMLButtonElement).addEventListener('click', end);
  }

  document.addEventListener('copy', () => showHeld());
  const ready = listTrips().then(() => showBox());
  ready.catch(() => (heldSays.textContent = words.wordNoStore ?? ''));
}
