// Pans and zooms a drawing that the server made: any <svg> with a viewBox, in any unit.
//
//   <figure data-chart-view>
//     <svg viewBox="…" tabindex="0" role="group" aria-label="…">
//       … the drawing …
//       <g data-chart-at="x y">…</g>               keeps its size on the screen: drawn in CSS
//                                                  pixels about its own 0 0 (labels, handles)
//       <g data-chart-corner="left bottom">…</g>   the same, in a corner of the window
//       <g data-chart-bar="m"><path/><text/></g>   a scale bar, within a corner
//     </svg>
//     <button type="button" data-chart-do="in">    in, out, fit, left, right, up, down
//   </figure>
//
// Without scripts the drawing stays as the server scaled it. Drag or arrow keys pan; pinch, + and
// -, and the wheel (with Ctrl, or once the chart has the focus) zoom; 0 shows everything again.
// What has `data-chart-hold` is not panned by: it is somebody else's to drag.
// On the <svg>: event `charttap` (detail {x, y, target}) for a tap or click that was no drag, in
// the drawing's unit; event `chartview` after the window moved. `chartOf(svg)` gives its Chart.

const DRAG_PX = 6;
const STEP = 1.4;
const ROUND = [1, 2, 5];

/** @typedef {{ x: number, y: number }} Point */

/** @type {WeakMap<SVGSVGElement, Chart>} */
const charts = new WeakMap();

/** @param {SVGSVGElement} svg @returns {Chart | undefined} */
export const chartOf = (svg) => charts.get(svg);

export class Chart {
  /** @type {Map<number, Point>} */
  #down = new Map();
  #dragged = false;
  #asked = 0;
  #zoomed = true;
  #fitted = true;
  #drawn = '';

  /** @param {SVGSVGElement} svg */
  constructor(svg) {
    this.svg = svg;
    const { x, y, width, height } = svg.viewBox.baseVal;
    /** What is shown when everything is. */
    this.home = { x, y, width, height };
    /** Middle of the window, and drawing units a CSS pixel. */
    this.middle = { x: x + width / 2, y: y + height / 2 };
    this.scale = 1;
    this.box = svg.getBoundingClientRect();
    charts.set(svg, this);
    new ResizeObserver(() => {
      this.box = svg.getBoundingClientRect();
      if (this.#fitted) this.fit();
      else this.#draw(true);
    }).observe(svg);
    addEventListener('scroll', () => (this.box = svg.getBoundingClientRect()), { passive: true });
    svg.addEventListener('pointerdown', (event) => this.#press(event));
    svg.addEventListener('pointermove', (event) => this.#move(event));
    for (const name of ['pointerup', 'pointercancel']) {
      svg.addEventListener(name, (event) => this.#release(/** @type {PointerEvent} */ (event)));
    }
    svg.addEventListener('wheel', (event) => this.#wheel(event), { passive: false });
    svg.addEventListener('keydown', (event) => this.#key(event));
    this.fit();
  }

  /** Where in the drawing a place of the window is. @param {Point} client @returns {Point} */
  at({ x, y }) {
    const { left, top, width, height } = this.box;
    return { x: this.middle.x + (x - left - width / 2) * this.scale, y: this.middle.y + (y - top - height / 2) * this.scale };
  }

  /** Shows everything. */
  fit() {
    const { x, y, width, height } = this.home;
    if (!this.box.width || !this.box.height) return;
    this.scale = Math.max(width / this.box.width, height / this.box.height);
    this.middle = { x: x + width / 2, y: y + height / 2 };
    this.#fitted = true;
    this.#draw(true);
  }

  /** @param {number} x CSS pixels @param {number} y */
  pan(x, y) {
    // The home stays in sight, so that nobody is lost on empty water.
    const { x: left, y: top, width, height } = this.home;
    this.middle.x = Math.min(Math.max(this.middle.x - x * this.scale, left), left + width);
    this.middle.y = Math.min(Math.max(this.middle.y - y * this.scale, top), top + height);
    this.#fitted = false;
    this.#draw(false);
  }

  /** @param {number} factor above 1: nearer @param {Point} [about] what stays where it is, of the window */
  zoom(factor, about) {
    const whole = Math.max(this.home.width / this.box.width, this.home.height / this.box.height);
    const next = Math.min(Math.max(this.scale / factor, whole / 200), whole * 4);
    const fixed = about ? this.at(about) : this.middle;
    const by = next / this.scale;
    this.middle = { x: fixed.x + (this.middle.x - fixed.x) * by, y: fixed.y + (this.middle.y - fixed.y) * by };
    this.scale = next;
    this.#fitted = false;
    this.#draw(true);
  }

  /** Sizes what was added since to the screen, and takes a new extent from the server. */
  renewed() {
    const served = this.svg.getAttribute('viewBox');
    if (this.#drawn && served !== this.#drawn) {
      const { x, y, width, height } = this.svg.viewBox.baseVal;
      this.home = { x, y, width, height };
    }
    if (this.#fitted) this.fit();
    else this.#draw(true);
  }

  /** @param {string} what */
  act(what) {
    const step = Math.min(this.box.width, this.box.height) / 5;
    if (what === 'in') this.zoom(STEP);
    else if (what === 'out') this.zoom(1 / STEP);
    else if (what === 'fit') this.fit();
    else if (what === 'left') this.pan(step, 0);
    else if (what === 'right') this.pan(-step, 0);
    else if (what === 'up') this.pan(0, step);
    else if (what === 'down') this.pan(0, -step);
  }

  /** One drawing a frame, however many moves. @param {boolean} zoomed */
  #draw(zoomed) {
    this.#zoomed ||= zoomed;
    if (!this.#asked) this.#asked = requestAnimationFrame(() => this.#frame());
  }

  #frame() {
    this.#asked = 0;
    const { svg, scale, middle } = this;
    const [width, height] = [this.box.width * scale, this.box.height * scale];
    const [left, top] = [middle.x - width / 2, middle.y - height / 2];
    this.#drawn = `${left} ${top} ${width} ${height}`;
    svg.setAttribute('viewBox', this.#drawn);
    for (const one of svg.querySelectorAll('[data-chart-corner]')) {
      const words = one.getAttribute('data-chart-corner') ?? '';
      const x = words.includes('right') ? left + width : left;
      const y = words.includes('bottom') ? top + height : top;
      one.setAttribute('transform', `translate(${x} ${y}) scale(${scale})`);
    }
    if (this.#zoomed) {
      this.#zoomed = false;
      for (const one of svg.querySelectorAll('[data-chart-at]')) {
        const [x, y] = (one.getAttribute('data-chart-at') ?? '').split(' ');
        one.setAttribute('transform', `translate(${x} ${y}) scale(${scale})`);
      }
      for (const bar of svg.querySelectorAll('[data-chart-bar]')) this.#bar(bar);
    }
    svg.dispatchEvent(new Event('chartview'));
  }

  /** A scale bar of a round length, at most 160 px. @param {Element} bar */
  #bar(bar) {
    // Metres to the unit that the bar is told in.
    const unit = Number(bar.getAttribute('data-chart-unit') ?? 1);
    const most = (160 * this.scale) / unit;
    const tens = 10 ** Math.floor(Math.log10(most));
    const length = Math.max(...ROUND.map((n) => n * tens).filter((n) => n <= most));
    const px = (length * unit) / this.scale;
    bar.querySelector('path')?.setAttribute('d', `M16 -22V-14H${(16 + px).toFixed(1)}V-22`);
    const text = bar.querySelector('text');
    if (!text) return;
    text.setAttribute('x', (24 + px).toFixed(1));
    text.textContent = `${Number(length.toPrecision(2))}\u00a0${bar.getAttribute('data-chart-bar')}`;
  }

  /** @param {PointerEvent} event */
  #press(event) {
    if (event.button !== 0 || (event.target instanceof Element && event.target.closest('[data-chart-hold]'))) return;
    this.box = this.svg.getBoundingClientRect();
    if (this.#down.size === 0) this.#dragged = false;
    this.#down.set(event.pointerId, { x: event.clientX, y: event.clientY });
  }

  /** @param {PointerEvent} event */
  #move(event) {
    const was = this.#down.get(event.pointerId);
    if (!was) return;
    const now = { x: event.clientX, y: event.clientY };
    if (!this.#dragged) {
      if (Math.hypot(now.x - was.x, now.y - was.y) < DRAG_PX) return;
      this.#dragged = true;
      this.svg.setPointerCapture(event.pointerId);
    }
    const other = [...this.#down].find(([id]) => id !== event.pointerId)?.[1];
    this.#down.set(event.pointerId, now);
    if (!other) return this.pan(now.x - was.x, now.y - was.y);
    const span = (/** @type {Point} */ a) => Math.hypot(a.x - other.x, a.y - other.y);
    this.pan((now.x - was.x) / 2, (now.y - was.y) / 2);
    this.zoom(span(now) / Math.max(span(was), 1), { x: (now.x + other.x) / 2, y: (now.y + other.y) / 2 });
  }

  /** @param {PointerEvent} event */
  #release(event) {
    const was = this.#down.get(event.pointerId);
    if (!this.#down.delete(event.pointerId) || !was) return;
    if (this.#dragged || event.type !== 'pointerup') return;
    const at = this.at({ x: event.clientX, y: event.clientY });
    this.svg.dispatchEvent(new CustomEvent('charttap', { detail: { ...at, target: event.target } }));
  }

  /** @param {WheelEvent} event */
  #wheel(event) {
    if (!event.ctrlKey && !this.svg.contains(document.activeElement)) return;
    event.preventDefault();
    this.box = this.svg.getBoundingClientRect();
    this.zoom(Math.exp(-event.deltaY * (event.deltaMode === 1 ? 0.06 : 0.002)), { x: event.clientX, y: event.clientY });
  }

  /** @param {KeyboardEvent} event */
  #key(event) {
    if (event.target !== this.svg || event.ctrlKey || event.altKey || event.metaKey) return;
    const what = { ArrowLeft: 'left', ArrowRight: 'right', ArrowUp: 'up', ArrowDown: 'down', '+': 'in', '=': 'in', '-': 'out', 0: 'fit', Home: 'fit' }[event.key];
    if (!what) return;
    event.preventDefault();
    this.act(what);
  }
}

/** Takes every drawing of the page that is not yet taken. */
export function takeCharts() {
  for (const svg of document.querySelectorAll('[data-chart-view] > svg[viewBox]')) {
    if (svg instanceof SVGSVGElement && !charts.has(svg)) new Chart(svg);
  }
}

document.addEventListener('click', (event) => {
  const button = event.target instanceof Element ? event.target.closest('[data-chart-do]') : null;
  const svg = button?.closest('[data-chart-view]')?.querySelector(':scope > svg[viewBox]');
  if (button && svg instanceof SVGSVGElement) chartOf(svg)?.act(button.getAttribute('data-chart-do') ?? '');
});
// The page was renewed: a drawing may have come, and the server scaled what it morphed.
document.addEventListener('renewed', () => {
  takeCharts();
  for (const svg of document.querySelectorAll('[data-chart-view] > svg[viewBox]')) {
    if (svg instanceof SVGSVGElement) chartOf(svg)?.renewed();
  }
});
takeCharts();
