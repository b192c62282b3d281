// The overlay of a device alone, held to the fold in Rust by vectors that the fold wrote.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { test } from 'node:test';
import { overlay } from '../../static/js/overlay.js';

const lines = readFileSync(new URL('overlay.jsonl', import.meta.url), 'utf8').trim().split('\n');

/** What the overlay answers for, as the fold's side projects it. */
function projected(told) {
  const pick = (from, keys) =>
    Object.fromEntries(keys.filter((key) => from[key] !== null && from[key] !== undefined).map((key) => [key, from[key]]));
  const each = (of, keys) => Object.fromEntries(Object.entries(told[of]).map(([id, one]) => [id, pick(one, keys)]));
  const alerts = Object.entries(each('alerts', ['word', 'priority', 'state', 'since']));
  return {
    people: each('people', ['place', 'since', 'distress']),
    groups: each('groups', ['entered_at', 'deadlines', 'standing', 'up', 'at_surface', 'accounted', 'partner_until']),
    alerts: Object.fromEntries(alerts.filter(([key]) => /^(group:|distress:|missing:|unresolved:|emergency)/.test(key))),
    out: told.out, under: told.under, aboard: told.aboard,
    lookout: told.lookout?.name ?? null, emergency: told.emergency?.reason ?? null,
  };
}

for (const line of lines) {
  const { nth, now, picture, pending, expected } = JSON.parse(line);
  test(`vector ${nth}: ${pending.map((e) => e.kind).join(', ')}`, () => {
    assert.deepEqual(projected(overlay(picture, pending, Date.parse(now))), expected);
  });
}

test('a picture without own events is what it was, at its own instant', () => {
  for (const line of lines) {
    const { picture } = JSON.parse(line);
    const before = structuredClone(picture);
    overlay(picture, [], Date.now());
    assert.deepEqual(picture, before, 'the picture handed in is not changed');
  }
});
