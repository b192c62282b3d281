// Figures typed on a device, held to what the box reads (`src/units/system.rs` wrote the vectors).
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { test } from 'node:test';
import { quantity } from '../../static/js/typed.js';

const lines = readFileSync(new URL('units.jsonl', import.meta.url), 'utf8').trim().split('\n');

test('a device reads a figure as the box does', () => {
  assert.ok(lines.length > 100);
  for (const line of lines) {
    const { measure, typed, metric } = JSON.parse(line);
    assert.equal(quantity(measure, typed, 'imperial', 0, 1e6), metric, `${typed} of ${measure}`);
  }
});

test('a metric page is read as it is typed, and what lies outside is not read', () => {
  assert.equal(quantity('depth', '18,5', 'metric', 1, 120), 18.5);
  assert.equal(quantity('depth', '', 'imperial', 1, 120), null);
  assert.equal(quantity('depth', '400', 'imperial', 1, 120), undefined);
  assert.equal(quantity('depth', '60 ft', 'imperial', 1, 120), undefined);
});
