// The words and marks that scripts set while the box is away. They come with the shell page, from
// the same message files as every other page.

/** @typedef {{ words: Record<string, string>, marks: Record<string, string> }} Kept */
/** @type {Promise<Kept> | undefined} */
let asked;
/** @type {Kept} */
let kept = { words: {}, marks: {} };

/** @param {Document} page @returns {Kept} */
function read(page) {
  const json = (/** @type {string} */ id) => JSON.parse(page.getElementById(id)?.dataset.json || '{}');
  return { words: json('alone-words'), marks: json('alone-marks') };
}

/** Has the words at hand before they are needed. @returns {Promise<boolean>} whether they are there */
export async function load() {
  const here = read(document);
  if (here.words['alone-working']) kept = here;
  else if (!kept.words['alone-working']) {
    asked ??= fetch('/alone', { signal: AbortSignal.timeout(5_000) }).then(async (answer) => (answer.ok ? answer : Promise.reject(new Error(`${answer.status}`)))).then(async (answer) => read(new DOMParser().parseFromString(await answer.text(), 'text/html')));
    try {
      kept = await asked;
    } catch {
      // Asked for again when next needed.
      asked = undefined;
    }
  }
  return Boolean(kept.words['alone-working']);
}

/** A sentence with its values; a key that is missing shows itself. @param {string} key @param {Record<string, string | number>} [args] */
export function say(key, args = {}) {
  // In one pass and by a function: a name may hold `%reason%` or `$&` and stays as it is.
  return (kept.words[key] ?? `{${key}}`).replace(/%([\w-]+)%/g, (place, name) => String(Object.hasOwn(args, name) ? args[name] : place));
}

/** Whether there is such a sentence. @param {string} key */
export const has = (key) => key in kept.words;

/** The drawn mark of a group's letter. @param {string} letter */
export const mark = (letter) => (Object.hasOwn(kept.marks, letter) ? kept.marks[letter] ?? '' : '');

/** Names in a row. @param {string[]} names */
export function names(names) {
  if (names.length < 2) return names[0] ?? '';
  return say('names-and', { most: names.slice(0, -1).join(', '), last: names.at(-1) ?? '' });
}
