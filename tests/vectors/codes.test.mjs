// The text of codes in Node, without a browser: held to the examples of RFC 9285 and to zlib.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { crc32 } from 'node:zlib';
import { decode, encode } from '../../static/js/log-base45.js';
import * as codes from '../../static/js/log-codes.js';

test('Base45 as in the examples of RFC 9285, section 4, and the checksum as zip has it', () => {
  const bytes = (text) => new TextEncoder().encode(text);
  for (const [plain, coded] of ([['AB', 'BB8'], ['Hello!!', '%69 VD92EX0'], ['base-45', 'UJCLQE7W581'], ['ietf!', 'QED8WEX0']])) {
    assert.equal(encode(bytes(plain)), coded);
    assert.deepEqual(decode(coded), bytes(plain));
  }
  // Section 6 of the RFC: what is no Base45 is refused. GGW would be 65,536.
  for (const none of ['GGW', ':::', 'A', 'aa', 'ÄÄ']) assert.equal(decode(none), undefined);
  for (const text of ['', 'a', '123456789', 'Grüße, 田中']) {
    assert.equal(codes.crc32(bytes(text)), crc32(bytes(text)).toString(16).padStart(8, '0').toUpperCase());
  }
});

test('codes come back whole in any order, and only whole', async () => {
  const trip = '0190b5d2-0000-7000-8000-000000000002';
  const lines = Array.from({ length: 300 }, (_, nth) => JSON.stringify({ event: { id: nth, name: `Grüße ${Math.sin(nth)} 田中` } }));
  const texts = await codes.toCodes(trip, lines);
  assert.ok(texts.length > 3);
  const read = [...texts].reverse().map((text) => codes.readCode(text));
  const collected = new codes.Collected();
  assert.equal(await collected.lines(), undefined);
  for (const code of read) assert.equal(code && collected.add(code), true);
  assert.equal(read[0] && collected.add(read[0]), false);
  assert.equal(collected.first?.trip, trip);
  assert.deepEqual(await collected.lines(), lines);
  // A byte that differs is found by the checksum; a code of another sequence begins anew.
  const damaged = new codes.Collected();
  for (const code of read) if (code) damaged.add(code.part === 2 ? { ...code, bytes: code.bytes.map((byte, at) => (at === 3 ? byte ^ 1 : byte)) } : code);
  assert.deepEqual(damaged.missing, []);
  assert.equal(await damaged.lines(), undefined);
  const [other] = await codes.toCodes(trip, ['{}']);
  const code = codes.readCode(other ?? '');
  assert.equal(code && collected.add(code), true);
  assert.equal(collected.count, 1);
  for (const none of ['', 'LOG1/', 'LOG2/x', texts[0]?.slice(0, -1), texts[0]?.replace('/1/', '/0/'), texts[0]?.toLowerCase()]) {
    assert.equal(codes.readCode(none ?? ''), undefined);
  }
});
