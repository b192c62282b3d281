// Places a picture by taps: each sets the pixels of the point that is aimed at.
import { chartOf } from './chart-view.js';

const SVG = 'http://www.w3.org/2000/svg';
const form = document.querySelector('form[data-ties]');
const svg = document.querySelector('[data-chart-view] > svg');

/** @param {string} name @returns {HTMLInputElement | null} */
const field = (name) => (form instanceof HTMLFormElement ? /** @type {HTMLInputElement | null} */ (form.elements.namedItem(name)) : null);

function mark() {
  const marks = svg?.querySelector('[data-tie-marks]');
  if (!marks || !(svg instanceof SVGSVGElement)) return;
  marks.replaceChildren();
  for (const n of ['1', '2']) {
    const [x, y] = [field(`x${n}`)?.value.replace(',', '.'), field(`y${n}`)?.value.replace(',', '.')];
    if (!x || !y || !Number.isFinite(Number(x)) || !Number.isFinite(Number(y))) continue;
    const pin = document.createElementNS(SVG, 'g');
    pin.setAttribute('data-chart-at', `${x} ${y}`);
    const cross = document.createElementNS(SVG, 'path');
    cross.setAttribute('class', 'chart-tie');
    cross.setAttribute('d', 'M-14 0H14M0-14V14');
    const text = document.createElementNS(SVG, 'text');
    text.setAttribute('class', 'chart-halo');
    text.setAttribute('x', '10');
    text.setAttribute('y', '-8');
    text.textContent = n;
    pin.append(cross, text);
    marks.append(pin);
  }
  chartOf(svg)?.renewed();
}

svg?.addEventListener('charttap', (event) => {
  const { x, y } = /** @type {CustomEvent<{ x: number, y: number }>} */ (event).detail;
  const aim = form?.querySelector('input[name="aim"]:checked');
  const n = aim instanceof HTMLInputElement ? aim.value : '1';
  const [across, down] = [field(`x${n}`), field(`y${n}`)];
  if (!across || !down) return;
  across.value = x.toFixed(1);
  down.value = y.toFixed(1);
  mark();
  field(`at${n}`)?.focus({ preventScroll: true });
});
form?.addEventListener('input', mark);
mark();
