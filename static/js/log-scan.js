// Reads codes by the camera: with the browser's own detector where there is one, else with the
// vendored one on a canvas.

/** How often a frame is looked at. */
const EVERY_MS = 120;

/** @typedef {(frame: HTMLCanvasElement | HTMLVideoElement) => Promise<string[]>} Detect */

/** What draws codes and reads them comes with the page: when it is wanted the box may be gone. */
const [encoder, decoder] = ['../vendor/qr.min.js', '../vendor/qr-decode.min.js'].map((path) => import(new URL(path, import.meta.url).href));
for (const loading of [encoder, decoder]) loading?.catch(() => undefined);

/** @returns {Promise<Detect>} */
async function ownDetector() {
  const { decodeQR } = await decoder;
  const canvas = document.createElement('canvas');
  return async (frame) => {
    const [width, height] = frame instanceof HTMLVideoElement ? [frame.videoWidth, frame.videoHeight] : [frame.width, frame.height];
    if (width === 0 || height === 0) return [];
    [canvas.width, canvas.height] = [width, height];
    const context = canvas.getContext('2d', { willReadFrequently: true });
    if (!context) return [];
    context.drawImage(frame, 0, 0);
    try {
      return [decodeQR(context.getImageData(0, 0, width, height))];
    } catch {
      // No code in this frame.
      return [];
    }
  };
}

/** @param {boolean} [own] whether the browser's detector is passed over @returns {Promise<Detect>} */
export async function detector(own = false) {
  const Native = /** @type {any} */ (globalThis).BarcodeDetector;
  const formats = own || !Native ? [] : await Native.getSupportedFormats().catch(() => []);
  if (!formats.includes('qr_code')) return ownDetector();
  const native = new Native({ formats: ['qr_code'] });
  return async (frame) => (await native.detect(frame)).map((/** @type {{ rawValue: string }} */ found) => found.rawValue);
}

/** Shows a code. @param {HTMLCanvasElement} canvas @param {string} text */
export async function draw(canvas, text) {
  const { encodeQR } = await encoder;
  // A quiet zone of four modules (ISO/IEC 18004, 5.3.8), and modules large enough for any camera.
  const rows = encodeQR(text, 'raw', { ecc: 'medium', encoding: 'alphanumeric', border: 4 });
  const scale = Math.max(4, Math.floor(720 / rows.length));
  canvas.width = canvas.height = rows.length * scale;
  const context = canvas.getContext('2d');
  if (!context) return;
  // Black on white in every palette: readers want the contrast.
  context.fillStyle = '#fff';
  context.fillRect(0, 0, canvas.width, canvas.height);
  context.fillStyle = '#000';
  rows.forEach((/** @type {boolean[]} */ row, /** @type {number} */ y) =>
    row.forEach((dark, x) => dark && context.fillRect(x * scale, y * scale, scale, scale)),
  );
}

/**
 * Looks through the camera until it is stopped.
 * @param {HTMLVideoElement} video
 * @param {(text: string) => void} found
 * @returns {Promise<() => void>} stops it
 */
export async function look(video, found) {
  const stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: 'environment', width: { ideal: 1280 } } });
  video.srcObject = stream;
  await video.play();
  const detect = await detector();
  let going = true;
  const stop = () => {
    going = false;
    for (const track of stream.getTracks()) track.stop();
    video.srcObject = null;
  };
  const turn = async () => {
    if (!going) return;
    // A frame that cannot be read is followed by another.
    for (const text of await detect(video).catch(() => [])) if (going) found(text);
    setTimeout(turn, EVERY_MS);
  };
  turn();
  return stop;
}
