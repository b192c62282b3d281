// Forms of a trip's pages: what is done is kept on the device first, then sent. With the box at
// hand its own form decides, and its answer is shown; without it the act stays here and waits.
import { now, zone } from './clock.js';
import { enter, isAlone, keepAct, refuse, seen, who } from './alone.js';
import { waiting } from './kept.js';
import { isLeaving } from './leaving.js';
import { deliver, done, put } from './outbox.js';
import { told } from './picture.js';
import { said, whereIs } from './said.js';
import { has, names, say } from './words.js';

/** @typedef {Record<string, any>} Json */

const TRY_MS = 5_000;
/** One act at a time: the next waits until this one is kept. @type {Promise<unknown>} */
let turn = Promise.resolve();

document.addEventListener('submit', (event) => {
  const form = event.target;
  const submitter = /** @type {SubmitEvent} */ (event).submitter;
  if (event.defaultPrevented || !(form instanceof HTMLFormElement) || form.method !== 'post') return;
  const action = submitter?.hasAttribute('formaction') ? /** @type {any} */ (submitter).formAction : form.action;
  const url = new URL(action, location.href);
  const where = url.origin === location.origin ? whereIs(url.pathname) : null;
  if (!where) return;
  if (!isAlone() && (!told() || !has('alone-working') || !globalThis.indexedDB)) return;
  const body = new URLSearchParams(/** @type {any} */ (new FormData(form, submitter)));
  const drafts = draftsOf(where.rest, body);
  if (!drafts) {
    // Only the box can take this one: it goes as forms always went.
    if (!isAlone()) return;
    event.preventDefault();
    const drop = where.rest.endsWith('/drop') && !told()?.groups?.[where.rest.split('/')[1] ?? '']?.alone?.checked;
    refuse(drop ? 'alone-checks-missing' : 'alone-not-alone');
    return;
  }
  event.preventDefault();
  const words = wordsOf(drafts);
  turn = turn.then(() => (isAlone() ? keepAct(where.trip, drafts, words) : online(url, where.trip, drafts, words, body)));
});

/** @param {string} rest @param {URLSearchParams} body */
function draftsOf(rest, body) {
  const p = seen() ?? told();
  if (!p) return null;
  const group = /^group\/([0-9a-f-]{36})\/drop$/.exec(rest)?.[1];
  // Alone, nobody goes in without the checks: the box is not there to refuse it.
  if (isAlone() && group && !p.groups[group]?.alone?.checked && !(body.has('engine_neutral') && body.has('flag_shown'))) return null;
  return said(rest, body, p, { name: who()?.name ?? '' }, now(), zone(), say);
}

/** What an act says, in a few words. @param {import('./said.js').Draft[]} drafts */
function wordsOf(drafts) {
  const p = told() ?? seen();
  const last = drafts.at(-1);
  if (!last || !p) return '';
  const group = p.groups[last.about.group]?.letter ?? '';
  const people = names([...new Set(drafts.flatMap((one) => one.about.persons ?? (one.payload.said_by ? [one.payload.said_by] : [])))].map((id) => p.people[id]?.name ?? '?'));
  /** @type {Record<string, string>} */
  const keys = {
    'left-surface': 'drop', 'drop-checked': 'check', 'at-surface': 'surface', aboard: 'aboard', 'return-noted': 'return', 'buoy-seen': 'buoy',
    'others-well': 'well', 'lost-contact': 'lost', 'person-missing': 'missing', 'alert-acknowledged': 'seen', 'alert-silenced': 'quiet',
    'conditions-observed': 'conditions', 'incident-noted': 'note', 'recall-sounded': 'recall', 'emergency-declared': 'emergency',
    'emergency-step': 'step', 'lookout-posted': 'lookout', 'lookout-relieved': 'lookout', 'head-counted': 'count', 'roll-called': 'roll',
  };
  const said = names([last.payload.said_by].filter(Boolean).map((id) => p.people[id]?.name ?? '?'));
  return say(`alone-did-${keys[last.kind] ?? 'note'}`, { group, names: said || people, text: last.payload.text ?? '' });
}

/** With the box at hand: kept first, then the page's own form. @param {URL} url @param {string} trip @param {import('./said.js').Draft[]} drafts @param {string} words @param {URLSearchParams} body */
async function online(url, trip, drafts, words, body) {
  /** @type {string[]} */
  const before = await waiting().catch(() => []);
  /** @type {Awaited<ReturnType<typeof put>> | undefined} */
  let act;
  try {
    act = await put(trip, drafts, words, { action: url.pathname, body: body.toString() });
    document.documentElement.dataset.saved = String(act.nth);
  } catch (cause) {
    // Without storage the form goes all the same, and its answer is all there is.
    console.warn('an act could not be kept here', cause);
  }
  // What was said before goes first.
  if (act && before.includes(trip)) {
    const outcome = await deliver();
    if (outcome === 'no-answer') return enter(now());
    if (outcome === 'delivered') return location.reload();
  }
  let answer;
  try {
    answer = await fetch(url, { method: 'POST', body, headers: { 'Deckwatch-Form': '1' }, credentials: 'same-origin', signal: AbortSignal.timeout(TRY_MS) });
  } catch {
    return act ? enter(now()) : refuse('alone-not-saved');
  }
  const to = answer.headers.get('Deckwatch-Location');
  if (answer.status === 204 && to) {
    if (act) await done([act.nth]);
    if (isLeaving()) return;
    const next = new URL(to, location.href);
    const same = next.pathname === location.pathname && next.search === location.search;
    location.assign(next);
    // An address that differs by its fragment only would not be asked for.
    if (same && next.hash) location.reload();
    return;
  }
  // The box could not keep it now: it stays here.
  if (act && answer.status >= 500) return enter(now());
  // Signed out meanwhile: it stays here too, and is delivered after signing in.
  if (act && answer.status === 401) return location.reload();
  if (act) await done([act.nth]);
  const page = new DOMParser().parseFromString(await answer.text(), 'text/html');
  const [held, next] = [document.getElementById('frame'), page.getElementById('frame')];
  if (!held || !next) return location.reload();
  document.title = page.title;
  held.replaceWith(next);
  document.dispatchEvent(new Event('renewed'));
  const problem = document.getElementById('problem') ?? document.getElementById('main');
  problem?.focus();
}
