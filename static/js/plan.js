// Answers while a plan is typed: the same check that the button asks for, of which only the
// answer is taken. What is typed, and where, is never touched.

const PAUSE_MS = 400;
const HANGS_MS = 15_000;

/** @type {ReturnType<typeof setTimeout> | undefined} */
let pause;
/** @type {AbortController | undefined} */
let asked;
/** Whether the page was renewed while an answer was on its way: one more is asked for after it. */
let again = false;

/** @returns {HTMLFormElement | null} */
const form = () => document.querySelector('form[data-answers]');

/** @param {string} words @param {boolean} [failed] */
function say(words, failed = false) {
  const place = document.querySelector('[data-asking]');
  if (!(place instanceof HTMLElement)) return;
  if (place.textContent !== words) place.textContent = words;
  place.toggleAttribute('data-failed', failed);
}

async function ask() {
  pause = undefined;
  const one = form();
  if (!one) return;
  again = false;
  const mine = new AbortController();
  asked = mine;
  const body = new URLSearchParams();
  for (const [name, value] of new FormData(one)) if (typeof value === 'string') body.append(name, value);
  body.set('do', 'check');
  // A link that hangs is none: it must not keep what is typed next from being asked.
  const hangs = setTimeout(() => mine.abort(), HANGS_MS);
  try {
    const answer = await fetch(one.action, { method: 'POST', body, signal: mine.signal, credentials: 'same-origin' });
    // What is wrong with the plan is an answer too; signed out, moved or broken is none.
    if (answer.redirected || !(answer.ok || answer.status === 422)) throw new Error(`answered ${answer.status}`);
    const page = new DOMParser().parseFromString(await answer.text(), 'text/html');
    const next = page.getElementById('answer');
    const held = document.getElementById('answer');
    if (!next || !held) throw new Error('no answer in the page');
    // Something was typed meanwhile: the answer to that is on its way.
    if (asked !== mine) return;
    /** @type {any} */ (globalThis).Idiomorph.morph(held, next);
    say('');
  } catch {
    if (asked === mine) say(one.dataset.wordFailed ?? '', true);
  }
  clearTimeout(hangs);
  if (asked !== mine) return;
  asked = undefined;
  if (again) ask();
}

/** @param {Event} event */
function typed(event) {
  const one = event.target instanceof Element ? event.target.closest('form[data-answers]') : null;
  if (!(one instanceof HTMLFormElement)) return;
  // An answer to what stood there before is late from this moment on.
  asked?.abort();
  asked = undefined;
  say(one.dataset.wordAsking ?? '');
  clearTimeout(pause);
  pause = setTimeout(ask, PAUSE_MS);
}

document.addEventListener('input', typed);
// The page was renewed, and what others logged changes the answer: what is typed is asked again,
// but no answer on its way is given up for it, or none might ever come on a busy day.
document.addEventListener('renewed', () => {
  if (form()?.dataset.edited === undefined || pause !== undefined) return;
  if (asked) again = true;
  else ask();
});
