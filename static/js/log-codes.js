// Lines of a log as a sequence of codes. Each says of itself which trip it is of, which part of how
// many it is, and the checksum of the whole, so that they can be read in any order:
//
//   LOG1/TRIP/PART/PARTS/Z/CRC32/BASE45/
//
// TRIP is the identity's 32 hexadecimal digits; Z says that the lines are deflated (RFC 1951), P
// that they are plain; the last stroke keeps a space before it from being cut off by a clipboard.
import { decode, encode } from './log-base45.js';

/** Bytes in one code: 840 characters, with what stands before them no more than 970, which version
 * 20 with error correction M holds (ISO/IEC 18004, table 7): a phone reads it from a tablet. */
const CHUNK = 560;
const MOST_PARTS = 9999;
/** Most bytes that codes may unfold to: nobody's log, but a trap. */
const LARGEST = 32 * 1024 * 1024;

/** @typedef {{ trip: string, part: number, parts: number, deflated: boolean, crc: string, bytes: Uint8Array }} Code */

/** CRC-32 as zip and PNG have it (ISO 3309), in eight hexadecimal digits. @param {Uint8Array} bytes */
export function crc32(bytes) {
  let crc = 0xffffffff;
  for (const byte of bytes) {
    crc ^= byte;
    for (let bit = 0; bit < 8; bit += 1) crc = (crc >>> 1) ^ (crc & 1 ? 0xedb88320 : 0);
  }
  return (~crc >>> 0).toString(16).padStart(8, '0').toUpperCase();
}

/** @param {Uint8Array} bytes @param {CompressionStream | DecompressionStream} way */
async function through(bytes, way) {
  const source = new Blob([/** @type {Uint8Array<ArrayBuffer>} */ (bytes)]).stream();
  const reader = source.pipeThrough(way).getReader();
  /** @type {Uint8Array<ArrayBuffer>[]} */
  const pieces = [];
  let size = 0;
  for (;;) {
    const { done, value } = await reader.read();
    if (done) break;
    size += value.length;
    if (size > LARGEST) throw new RangeError('the codes unfold to more than any log');
    pieces.push(value);
  }
  return new Uint8Array(await new Blob(pieces).arrayBuffer());
}

/** The texts of the codes for these lines. @param {string} trip @param {string[]} lines @returns {Promise<string[]>} */
export async function toCodes(trip, lines) {
  const plain = new TextEncoder().encode(lines.join('\n'));
  const deflates = typeof CompressionStream === 'function';
  const bytes = deflates ? await through(plain, new CompressionStream('deflate-raw')) : plain;
  const parts = Math.max(1, Math.ceil(bytes.length / CHUNK));
  if (parts > MOST_PARTS) throw new RangeError('more codes than anybody could read');
  const id = trip.replaceAll('-', '').toUpperCase();
  const [how, crc] = [deflates ? 'Z' : 'P', crc32(bytes)];
  return Array.from({ length: parts }, (_, nth) => {
    const piece = bytes.subarray(nth * CHUNK, (nth + 1) * CHUNK);
    return `LOG1/${id}/${nth + 1}/${parts}/${how}/${crc}/${encode(piece)}/`;
  });
}

/** @param {string} text @returns {Code | undefined} nothing where it is not a code of a log */
export function readCode(text) {
  const found = /^LOG1\/([0-9A-F]{32})\/(\d{1,4})\/(\d{1,4})\/([ZP])\/([0-9A-F]{8})\/(.*)\/\s*$/.exec(text);
  if (!found) return undefined;
  const [, id = '', part, parts, how, crc = '', body = ''] = found;
  const bytes = decode(body);
  const [n, of] = [Number(part), Number(parts)];
  if (!bytes || n < 1 || n > of) return undefined;
  const trip = id.toLowerCase().replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, '$1-$2-$3-$4-$5');
  return { trip, part: n, parts: of, deflated: how === 'Z', crc, bytes };
}

/** Collects codes until a sequence is whole. A code of another sequence begins anew. */
export class Collected {
  /** @type {Map<number, Code>} */
  #held = new Map();

  /** @param {Code} code @returns {boolean} whether it was new */
  add(code) {
    const first = this.first;
    if (first && (first.trip !== code.trip || first.crc !== code.crc || first.parts !== code.parts)) this.#held.clear();
    if (this.#held.has(code.part)) return false;
    this.#held.set(code.part, code);
    return true;
  }

  get first() {
    return this.#held.values().next().value;
  }

  get count() {
    return this.#held.size;
  }

  get parts() {
    return this.first?.parts ?? 0;
  }

  /** The numbers that are not there yet. */
  get missing() {
    return Array.from({ length: this.parts }, (_, nth) => nth + 1).filter((part) => !this.#held.has(part));
  }

  /** The lines, once all parts are there; nothing where they do not fit together. @returns {Promise<string[] | undefined>} */
  async lines() {
    const first = this.first;
    if (!first || this.missing.length > 0) return undefined;
    const pieces = [...this.#held.values()].sort((a, b) => a.part - b.part);
    const bytes = new Uint8Array(await new Blob(pieces.map((code) => /** @type {Uint8Array<ArrayBuffer>} */ (code.bytes))).arrayBuffer());
    if (crc32(bytes) !== first.crc) return undefined;
    try {
      const plain = first.deflated ? await through(bytes, new DecompressionStream('deflate-raw')) : bytes;
      const text = new TextDecoder('utf-8', { fatal: true }).decode(plain);
      return text.split('\n').filter((line) => line.trim() !== '');
    } catch {
      // Whole by its checksum and yet not deflated text: not made by us.
      return undefined;
    }
  }
}
