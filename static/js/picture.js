// The picture of the trip on this page: taken whole from the stream or by what changed (RFC 7396),
// and kept on the device, so that it can go on without the box.
import { now } from './clock.js';
import { hold } from './kept.js';

/** @typedef {Record<string, any>} Json */

const KEEP_MS = 400;

/** @type {Json | undefined} */
let picture;
/** @type {ReturnType<typeof setTimeout> | undefined} */
let keeping;

/** @returns {HTMLElement | null} */
const frame = () => document.getElementById('frame');

/** The picture as the box told it last. */
export const told = () => picture;

/** Takes a picture that was kept or fetched. @param {Json} whole */
export function take(whole) {
  picture = whole;
}

/** Who acts on this device, as the page says. @returns {Json | null} */
export function author() {
  const data = frame()?.dataset;
  if (!data?.device || !data.crew) return null;
  return { device: data.device, crew: data.crew, name: data.crewName ?? '', role: data.role ?? '', app: data.app ?? '' };
}

/** A merge patch applied (RFC 7396, section 2). @param {any} target @param {any} patch @returns {any} */
export function merged(target, patch) {
  if (patch === null || typeof patch !== 'object' || Array.isArray(patch)) return patch;
  const into = target !== null && typeof target === 'object' && !Array.isArray(target) ? { ...target } : {};
  for (const [name, value] of Object.entries(patch)) {
    if (value === null) delete into[name];
    else into[name] = merged(into[name], value);
  }
  return into;
}

/** A word of the stream: the whole picture, or what changed of it. @param {Json} word */
export function heard(word) {
  if (word.picture) picture = word.picture;
  else if (word.patch && picture) picture = merged(picture, word.patch);
  else return;
  clearTimeout(keeping);
  keeping = setTimeout(keep, KEEP_MS);
  document.dispatchEvent(new CustomEvent('picture', { detail: { entry: word.entry } }));
}

function keep() {
  const [who, trip, data] = [author(), picture?.trip, frame()?.dataset];
  if (!picture || !who || !trip) return;
  const zone = data?.now?.slice(-6) ?? 'Z';
  const held = {
    trip, picture, who, now: new Date(now()).toISOString(), wall: Date.now(), saved: Date.now(),
    ...(data?.certificateEnds ? { certificate: { ends: data.certificateEnds, basic: data.basic ?? '' } } : {}),
    zone, speed: Number(data?.clockSpeed ?? 1), palette: document.documentElement.dataset.palette,
    units: data?.units,
  };
  hold(held).then(
    () => { document.documentElement.dataset.kept = String(picture?.entry ?? ''); },
    // Without storage the page goes on while it is open; that it cannot be closed is said on it.
    () => { document.documentElement.dataset.kept = 'no'; },
  );
}
