// What a device alone draws out of a kept picture, where every text of the picture would like to
// be markup: the pages are the same elements with the same attributes as with harmless names.
import assert from 'node:assert/strict';
import { readdirSync, readFileSync } from 'node:fs';
import { test } from 'node:test';

const HOSTILE = [
  '"><img src=x onerror=zqx()><script>zqx()</script>',
  `' onfocus='zqx()' x="`,
  '</strong></textarea></title></svg><zqx-e>',
  '&lt;script&gt;&#60;zqx&#62;',
  "$& $' $` $1 %name% %reason%",
  'zqx\u202edrawkcab\u2066',
  'javascript:zqx()',
];

// Words as the shell has them: `{ $name }` of the message files is `%name%`.
const folder = new URL('../../templates/words/en/', import.meta.url);
const words = /** @type {Record<string, string>} */ ({});
for (const file of readdirSync(folder)) {
  const text = readFileSync(new URL(file, folder), 'utf8');
  for (const [, key, first, more] of text.matchAll(/^([a-z][\w-]*) = ?(.*)((?:\n[ \t]+.*)*)/gm)) {
    words[key] = `${first}${more}`.replace(/\{\s*\$(\w+)(?:\s*->[^}]*(?:\{[^}]*\}[^}]*)*)?\s*\}/g, '%$1%').replace(/\s+/g, ' ').trim();
  }
}
assert.ok(words['alone-working'] && words['alert-late'], 'the message files were read');
const marks = Object.fromEntries([...'BCDEFGHJKLMN'].map((letter) => [letter, `<svg role="img" aria-label="${letter}"></svg>`]));
const shell = { 'alone-words': words, 'alone-marks': marks };

// As much of a browser as the modules touch when they are loaded.
const page = {
  documentElement: { dataset: {} }, addEventListener() {}, querySelector: () => null, querySelectorAll: () => [],
  getElementById: (/** @type {string} */ id) => ({ dataset: { json: JSON.stringify(shell[id] ?? {}) } }),
};
Object.assign(globalThis, { document: page });
const { e, frame, strip } = await import('../../static/js/alone-pages.js');
const { load, mark, names, say } = await import('../../static/js/words.js');
assert.equal(await load(), true);

/** The tags of a text with the names of their attributes, as HTML's tokenizer cuts them (WHATWG HTML, 13.2.5). @param {string} html */
function skeleton(html) {
  const tags = [];
  for (let at = html.indexOf('<'); at >= 0; at = html.indexOf('<', at)) {
    const name = /^<\/?([a-z][^\s/>]*)/i.exec(html.slice(at, at + 80));
    if (!name) {
      tags.push(`? ${html.slice(at, at + 20)}`);
      at += 1;
      continue;
    }
    at += name[0].length;
    const attributes = [];
    for (;;) {
      const rest = html.slice(at);
      const end = /^[\s/]*>/.exec(rest);
      if (end) {
        at += end[0].length;
        break;
      }
      const attribute = /^[\s/]*([^\s/>=]+)(?:\s*=\s*("[^"]*"|'[^']*'|[^\s>]*))?/.exec(rest);
      assert.ok(attribute, `a tag that does not end: ${rest.slice(0, 80)}`);
      attributes.push(attribute[1]);
      const value = (attribute[2] ?? '').replace(/^["']|["']$/g, '');
      if (['href', 'action', 'src'].includes(attribute[1] ?? '')) assert.match(value, /^\/(?!\/)/, 'an address of ours');
      at += attribute[0].length;
    }
    tags.push(`${name[0]} ${attributes.join(' ')}`);
  }
  return tags;
}

/** Keys whose texts people type; all others are words and identities that the box made. */
const TYPED = new Set(['name', 'names', 'reason', 'by', 'command', 'text', 'note', 'with', 'down', 'harbour', 'identity', 'words', 'refused', 'emergency_plan', 'zone', 'exit_zone', 'call_sign', 'what']);

/** The picture with this text in place of every one that somebody typed. @param {any} value @param {string} text @param {boolean} [typed] @returns {any} */
function told(value, text, typed = false) {
  if (typeof value === 'string') return typed ? text : value;
  if (Array.isArray(value)) return value.map((one) => told(one, text, typed));
  if (value === null || typeof value !== 'object') return value;
  return Object.fromEntries(Object.entries(value).map(([key, one]) => [key, told(one, text, TYPED.has(key))]));
}

const pictures = readFileSync(new URL('overlay.jsonl', import.meta.url), 'utf8').trim().split('\n').filter((_, nth) => nth % 40 === 0).map((line) => JSON.parse(line).picture);
const acts = [{ nth: 1, words: 'Said', refused: 'Refused', events: [{ kind: 'aboard', at: '2026-06-01T09:00:00Z', payload: {} }] }];

/** Every page there is for a picture. @param {any} p @param {string} why */
function drawn(p, why) {
  const ids = (/** @type {string} */ of) => Object.keys(p[of] ?? {});
  const rests = ['', 'alerts', 'count', 'roll', 'conditions', 'incident', 'recall', 'lookout', 'emergency', 'handover', 'pickup', 'chart', 'saved', 'logs', 'elsewhere',
    ...ids('groups').map((id) => `group/${id}`), ...ids('people').map((id) => `return/${id}`)];
  const views = ['helm', 'deck'].flatMap((place) => rests.map((rest) => ({ p, place, trip: p.trip, rest, now: Date.parse('2026-06-01T09:00:30Z'), waiting: told(acts, why), why, note: why })));
  return views.map((view) => `${frame(view, true)}${strip(view)}`);
}

test('no text of a picture becomes an element, an attribute or an address', () => {
  let seen = 0;
  for (const picture of pictures) {
    const harmless = drawn(told(picture, 'Mara Lind'), 'because').map(skeleton);
    for (const text of HOSTILE) {
      drawn(told(picture, text), text).forEach((html, nth) => {
        assert.deepEqual(skeleton(html), harmless[nth]);
        if (html.includes('zqx')) seen += 1;
        assert.doesNotMatch(html, /[\u202a-\u202e\u2066-\u2069]/);
      });
    }
  }
  assert.ok(seen > 300, `the texts stand on ${seen} pages`);
});

test('a group by a letter that is none has no mark', () => {
  for (const letter of ['constructor', '__proto__', 'toString', '<b>']) assert.equal(mark(letter), '', letter);
});

test('a skeleton tells what was put in, or the test above would pass for anything', () => {
  assert.notDeepEqual(skeleton('<p>a</p>'), skeleton(`<p>${HOSTILE[2]}</p>`));
  assert.throws(() => skeleton(`<p>${HOSTILE[0]}</p>`), /an address of ours/);
  assert.notDeepEqual(skeleton('<p title="a"></p>'), skeleton(`<p title="${HOSTILE[1]}"></p>`));
  assert.deepEqual(skeleton('<p title="a">a</p>'), skeleton(`<p title="${e(HOSTILE[1])}">${e(HOSTILE[0])}</p>`));
});

test('a value stands in a sentence as it is, whatever signs it has', () => {
  for (const text of [...HOSTILE, '%names%', '$$']) {
    assert.equal(say('alone-refused', { why: text }).includes(text), true, text);
    assert.equal(names([text, text]).split(text).length, 3, text);
  }
  // A value is not looked through for the places of others.
  assert.equal(say('alert-lost-contact', { names: '%group%', group: 'B' }).includes('%group%'), true);
});
