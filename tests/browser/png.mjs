// A small PNG of a screen: a screen has few colours, so a palette of 256 holds it (PNG, third
// edition, W3C: colour type 3).
import { crc32, deflateSync } from 'node:zlib';

/** @param {string} type @param {Uint8Array} data */
function chunk(type, data) {
  const body = Buffer.concat([Buffer.from(type, 'latin1'), data]);
  const [length, sum] = [Buffer.alloc(4), Buffer.alloc(4)];
  length.writeUInt32BE(data.length);
  sum.writeUInt32BE(crc32(body));
  return Buffer.concat([length, body, sum]);
}

/** The 256 most frequent colours as they are, and the nearest of them for all others.
 * @param {Uint8Array} rgba */
function paletted(rgba) {
  /** @type {Map<number, number>} */
  const seen = new Map();
  const keys = new Uint32Array(rgba.length / 4);
  for (let n = 0; n < keys.length; n += 1) {
    const key = ((rgba[4 * n] ?? 0) << 16) | ((rgba[4 * n + 1] ?? 0) << 8) | (rgba[4 * n + 2] ?? 0);
    keys[n] = key;
    seen.set(key, (seen.get(key) ?? 0) + 1);
  }
  const kept = [...seen].sort((a, b) => b[1] - a[1]).slice(0, 256).map(([key]) => key);
  const far = (/** @type {number} */ a, /** @type {number} */ b) =>
    ((a >> 16) - (b >> 16)) ** 2 + (((a >> 8) & 255) - ((b >> 8) & 255)) ** 2 + ((a & 255) - (b & 255)) ** 2;
  /** @type {Map<number, number>} */
  const index = new Map(kept.map((key, n) => [key, n]));
  for (const key of seen.keys()) {
    if (index.has(key)) continue;
    let best = 0;
    for (let n = 1; n < kept.length; n += 1) if (far(key, kept[n] ?? 0) < far(key, kept[best] ?? 0)) best = n;
    index.set(key, best);
  }
  return { kept, dots: Uint8Array.from(keys, (key) => index.get(key) ?? 0) };
}

/** @param {number} width @param {number} height @param {Uint8Array} rgba */
export function small(width, height, rgba) {
  const { kept, dots } = paletted(rgba);
  const head = Buffer.alloc(13);
  head.writeUInt32BE(width, 0);
  head.writeUInt32BE(height, 4);
  head.set([8, 3, 0, 0, 0], 8);
  const lines = Buffer.alloc(height * (width + 1));
  for (let y = 0; y < height; y += 1) lines.set(dots.subarray(y * width, (y + 1) * width), y * (width + 1) + 1);
  const colours = Buffer.from(kept.flatMap((key) => [key >> 16, (key >> 8) & 255, key & 255]));
  return Buffer.concat([
    Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]),
    chunk('IHDR', head),
    chunk('PLTE', colours),
    chunk('IDAT', deflateSync(lines, { level: 9 })),
    chunk('IEND', Buffer.alloc(0)),
  ]);
}
