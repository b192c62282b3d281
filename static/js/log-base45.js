// Base45 (RFC 9285): bytes in the characters that a QR code packs most tightly and every reader
// gives back untouched.
const ALPHABET = '0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:';
/** @type {Map<string, number>} */
const VALUES = new Map([...ALPHABET].map((letter, value) => [letter, value]));

/** @param {number} value @param {number} letters */
function written(value, letters) {
  let text = '';
  for (let nth = 0; nth < letters; nth += 1) {
    text += ALPHABET[value % 45];
    value = Math.floor(value / 45);
  }
  return text;
}

/** @param {Uint8Array} bytes */
export function encode(bytes) {
  let text = '';
  for (let at = 0; at < bytes.length; at += 2) {
    const [high = 0, low] = bytes.subarray(at, at + 2);
    text += low === undefined ? written(high, 2) : written(high * 256 + low, 3);
  }
  return text;
}

/** @param {string} text @returns {Uint8Array | undefined} nothing where it is not Base45 */
export function decode(text) {
  if (text.length % 3 === 1) return undefined;
  /** @type {number[]} */
  const bytes = [];
  for (let at = 0; at < text.length; at += 3) {
    const values = [...text.slice(at, at + 3)].map((letter) => VALUES.get(letter));
    if (values.includes(undefined)) return undefined;
    const [a = 0, b = 0, c = 0] = values;
    const value = a + 45 * b + 2025 * c;
    const whole = values.length === 3;
    if (value > (whole ? 0xffff : 0xff)) return undefined;
    if (whole) bytes.push(value >> 8);
    bytes.push(value & 0xff);
  }
  return Uint8Array.from(bytes);
}
