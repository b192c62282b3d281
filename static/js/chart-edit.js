// Draws the features of a chart into its form: the form's fields are what is saved, the server
// says what is wrong with them, and typed lines are read by the server alone.
import { planeRound, written } from './chart-plane.js';
import { chartOf } from './chart-view.js';

const PAUSE_MS = 350;
const SVG = 'http://www.w3.org/2000/svg';
const AREAS = ['keep-clear', 'pickup-zone'];

/** @typedef {import('./chart-plane.js').Place} Place */
/** @typedef {{ n: string, kind: string, name: string, areas: Place[][][] }} Feature */
/** @typedef {{ area: number, ring: number, corner: number }} At */

const form = /** @type {HTMLFormElement} */ (document.querySelector('[data-chart-form]'));
const svg = /** @type {SVGSVGElement} */ (form.querySelector('[data-chart-view] > svg'));
const layer = /** @type {SVGGElement} */ (svg.querySelector('[data-chart-features]'));
const list = /** @type {HTMLElement} */ (form.querySelector('[data-features]'));
const blank = /** @type {HTMLElement} */ (form.querySelector('[data-feature-new]'));
const plane = planeRound([Number(svg.dataset.lon), Number(svg.dataset.lat)]);
const handles = document.createElementNS(SVG, 'g');
layer.after(handles);

/** @type {Feature[]} */
let features = [];
/** @type {string} number of the feature that is being changed */
let chosen = '';
/** @type {At | undefined} */
let corner;
/** @type {string} kind that the next taps draw */
let drawing = '';
/** @type {Place[]} */
let line = [];
/** @type {string[]} */
const undone = [];
/** @type {string[]} */
let redone = [];

/** @param {string} name @param {Record<string, string>} [fill] */
function word(name, fill = {}) {
  const text = form.dataset[`word${name.replace(/(^|-)(\w)/g, (_, __, c) => c.toUpperCase())}`] ?? '';
  // The server left some places open: %name%.
  return text.replace(/%(\w+)%/g, (whole, key) => fill[key] ?? whole);
}

/** @param {string} of @param {string} n */
const field = (of, n) => /** @type {HTMLInputElement | null} */ (form.elements.namedItem(`${of}-${n}`));
const own = () => features.find((one) => one.n === chosen);

/** Takes the features from the fields. */
function take() {
  features = [...list.querySelectorAll('[data-feature]')].flatMap((one) => {
    const n = one.getAttribute('data-feature') ?? '';
    const read = one.getAttribute('data-read') ?? '';
    const removed = /** @type {HTMLInputElement | null} */ (field('remove', n))?.checked;
    if (removed || !read) return [];
    return [{ n, kind: field('kind', n)?.value ?? '', name: field('name', n)?.value ?? '', areas: JSON.parse(read) }];
  });
}

/** Writes the features into the fields. */
function give() {
  for (const one of list.querySelectorAll('[data-feature]')) {
    const n = one.getAttribute('data-feature') ?? '';
    if (!features.some((feature) => feature.n === n) && one.getAttribute('data-read')) one.remove();
  }
  for (const feature of features) {
    const one = list.querySelector(`[data-feature="${feature.n}"]`) ?? added(feature.n);
    const read = JSON.stringify(feature.areas);
    if (one.getAttribute('data-read') !== read) {
      one.setAttribute('data-read', read);
      set(field('corners', feature.n), lines(feature.areas));
    }
    set(field('kind', feature.n), feature.kind);
    set(field('name', feature.n), feature.name);
    title(feature);
  }
}

/** @param {Feature} feature */
function title({ n, name, kind }) {
  const summary = list.querySelector(`[data-feature="${n}"] summary`);
  if (summary) summary.textContent = `${name} · ${word(kind || 'none')}`;
}

/** @param {HTMLInputElement | null} one @param {string} value */
function set(one, value) {
  if (one && one.value !== value) one.value = value;
}

/** @param {Place[][][]} areas */
function lines(areas) {
  return areas
    .flatMap((rings, area) => rings.flatMap((ring, nth) => [...(nth ? ['hole'] : area ? ['and'] : []), ...ring.map(written)]))
    .join('\n');
}

/** A further set of fields, made from the empty one. @param {string} n */
function added(n) {
  const one = document.createElement('details');
  one.className = 'feature';
  one.dataset.feature = n;
  const from = blank.querySelector('textarea')?.name.split('-')[1] ?? '';
  for (const part of blank.children) one.append(part.cloneNode(true));
  renumber(one, from, n);
  for (const part of one.querySelectorAll('input, textarea')) /** @type {HTMLInputElement} */ (part).value = '';
  list.append(one);
  return one;
}

function nextNumber() {
  const held = [...form.querySelectorAll('textarea[name^="corners-"]')].map((one) => Number(one.getAttribute('name')?.split('-')[1]));
  return String(Math.max(0, ...held) + 1);
}

/** Makes one change that can be undone. @param {() => void} change @param {boolean} [joins] with the one before */
function change(change, joins = false) {
  if (!joins) undone.push(JSON.stringify(features));
  if (undone.length > 200) undone.shift();
  redone = [];
  change();
  changed();
}

function changed() {
  give();
  draw();
  ask();
}

/** @param {string[]} from @param {string[]} to */
function turn(from, to) {
  const held = from.pop();
  if (held === undefined) return;
  to.push(JSON.stringify(features));
  features = JSON.parse(held);
  corner = undefined;
  if (!own()) chosen = '';
  changed();
}

/** @param {string} name @param {Record<string, string | number>} attributes @param {Element} parent */
function add(name, attributes, parent) {
  const one = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) one.setAttribute(key, String(value));
  parent.append(one);
  return one;
}

/** @param {{ x: number, y: number }} at */
const pinned = (at) => `${at.x.toFixed(2)} ${at.y.toFixed(2)}`;
/** @param {Place[]} ring */
const outline = (ring) => ring.map((place, nth) => `${nth ? 'L' : 'M'}${pinned(plane.toDrawing(place))}`).join('');

function draw() {
  layer.replaceChildren();
  for (const feature of features) {
    const g = add('g', { 'data-of': feature.n }, layer);
    if (feature.n === chosen) g.setAttribute('class', 'chart-chosen');
    const first = feature.areas[0]?.[0] ?? [];
    if (AREAS.includes(feature.kind)) {
      for (const rings of feature.areas) {
        add('path', { ...style(feature.kind), d: rings.map((ring) => `${outline(ring)}Z`).join('') }, g);
      }
      label(feature.name, highest(first), -8, g);
    } else if (first[0]) {
      const at = plane.toDrawing(first[0]);
      const pin = add('g', { 'data-chart-at': pinned(at) }, g);
      add('circle', { class: 'chart-touch', r: 22 }, pin);
      add('circle', { class: 'chart-place', r: 6 }, pin);
      add('text', { x: 10, y: 5 }, pin).textContent = feature.name;
    }
  }
  if (line.length) {
    const g = add('g', { class: 'chart-line' }, layer);
    add('path', { d: outline(line) }, g);
    for (const place of line) add('circle', { r: 5 }, add('g', { 'data-chart-at': pinned(plane.toDrawing(place)) }, g));
  }
  drawHandles();
  tools();
  chartOf(svg)?.renewed();
}

/** Keep clear is hatched, a pickup zone dotted. @param {string} kind @returns {Record<string, string>} */
const style = (kind) => (kind === 'keep-clear' ? { class: 'chart-clear', fill: 'url(#keep-clear)' } : { class: 'chart-zone' });

/** @param {Place[]} ring */
function highest(ring) {
  const at = ring.map((place) => plane.toDrawing(place));
  return { x: at.reduce((sum, one) => sum + one.x, 0) / Math.max(at.length, 1), y: Math.min(...at.map((one) => one.y)) };
}

/** @param {string} text @param {{ x: number, y: number }} at @param {number} y @param {Element} parent */
function label(text, at, y, parent) {
  if (!Number.isFinite(at.y)) return;
  add('text', { class: 'chart-name', y }, add('g', { 'data-chart-at': pinned(at) }, parent)).textContent = text;
}

/** A handle is found again by what it is of, so that the focus stays on it while it moves. */
function drawHandles() {
  const focused = document.activeElement?.getAttribute('data-handle');
  handles.replaceChildren();
  const feature = own();
  if (!feature) return;
  const isArea = AREAS.includes(feature.kind);
  feature.areas.forEach((rings, area) =>
    rings.forEach((ring, nth) =>
      ring.forEach((place, corner) => {
        handle(feature, { area, ring: nth, corner }, plane.toDrawing(place), false);
        const next = ring[(corner + 1) % ring.length];
        if (!isArea || !next || ring.length < 2) return;
        const [a, b] = [plane.toDrawing(place), plane.toDrawing(next)];
        handle(feature, { area, ring: nth, corner }, { x: (a.x + b.x) / 2, y: (a.y + b.y) / 2 }, true);
      }),
    ),
  );
  if (focused) /** @type {SVGElement | null} */ (handles.querySelector(`[data-handle="${focused}"]`))?.focus({ preventScroll: true });
}

/** @param {Feature} feature @param {At} at @param {{ x: number, y: number }} where @param {boolean} between */
function handle(feature, at, where, between) {
  const key = `${between ? 'i' : 'c'}-${at.area}-${at.ring}-${at.corner}`;
  const one = add('g', { 'data-handle': key, 'data-chart-hold': '', 'data-chart-at': pinned(where), tabindex: 0, role: 'button', class: between ? 'chart-between' : 'chart-corner' }, handles);
  const name = word(between ? 'between' : 'corner', { n: String(at.corner + 1), name: feature.name });
  const place = feature.areas[at.area]?.[at.ring]?.[at.corner];
  one.setAttribute('aria-label', between || !place ? name : `${name}: ${written(place)}`);
  add('circle', { class: 'chart-touch', r: 22 }, one);
  add('circle', { class: 'chart-dot', r: between ? 5 : 9 }, one);
  one.addEventListener('focus', () => {
    corner = between ? undefined : at;
    tools();
  });
}

function tools() {
  const feature = own();
  for (const button of form.querySelectorAll('[data-edit]')) {
    if (!(button instanceof HTMLButtonElement)) continue;
    const what = button.dataset.edit;
    // Disabled for real, a button would lose the focus that it was pressed with.
    const idle =
      what === 'finish' ? line.length < 3 : what === 'undo' ? !undone.length && !line.length : what === 'redo' ? !redone.length : what === 'corner' ? !corner || !feature || !AREAS.includes(feature.kind) : !feature;
    button.setAttribute('aria-disabled', String(idle));
  }
  for (const button of form.querySelectorAll('[data-draw]')) button.setAttribute('aria-pressed', String(button.getAttribute('data-draw') === drawing));
  const hint = form.querySelector('[data-chart-hint]');
  const says = drawing ? word(AREAS.includes(drawing) ? 'drawing' : 'placing') : feature ? word('selected', { name: feature.name }) : undefined;
  if (hint && says && hint.textContent !== says) hint.textContent = says;
}

/** @param {At} at */
const ringOf = (at) => own()?.areas[at.area]?.[at.ring];

/** @param {At} at @param {{ x: number, y: number }} to @param {boolean} joins */
function move(at, to, joins) {
  change(() => {
    const ring = ringOf(at);
    if (ring) ring[at.corner] = plane.toPlace(to);
  }, joins);
}

/** @param {At} at */
function insert(at) {
  change(() => {
    const ring = ringOf(at);
    const [a, b] = [ring?.[at.corner], ring?.[(at.corner + 1) % (ring?.length ?? 1)]];
    if (!ring || !a || !b) return;
    const [p, q] = [plane.toDrawing(a), plane.toDrawing(b)];
    ring.splice(at.corner + 1, 0, plane.toPlace({ x: (p.x + q.x) / 2, y: (p.y + q.y) / 2 }));
    corner = { ...at, corner: at.corner + 1 };
  });
  focusCorner();
}

/** @param {At} at */
function remove(at) {
  const ring = ringOf(at);
  if (!ring || !AREAS.includes(own()?.kind ?? '') || ring.length <= 3) return;
  change(() => ring.splice(at.corner, 1));
  corner = { ...at, corner: Math.min(at.corner, ring.length - 1) };
  focusCorner();
}

function focusCorner() {
  if (corner) /** @type {SVGElement | null} */ (handles.querySelector(`[data-handle="c-${corner.area}-${corner.ring}-${corner.corner}"]`))?.focus({ preventScroll: true });
}

/** Keeps what was drawn as a new feature. @param {Place[]} ring */
function keep(ring) {
  const kind = drawing;
  const n = nextNumber();
  change(() => features.push({ n, kind, name: word('new', { kind: word(kind) }), areas: [[ring]] }));
  [drawing, line, chosen, corner] = ['', [], n, undefined];
  draw();
  const one = list.querySelector(`[data-feature="${n}"]`);
  if (one instanceof HTMLDetailsElement) one.open = true;
}

svg.addEventListener('charttap', (event) => {
  const { x, y, target } = /** @type {CustomEvent<{ x: number, y: number, target: Element }>} */ (event).detail;
  if (drawing) {
    const place = plane.toPlace({ x, y });
    if (!AREAS.includes(drawing)) return keep([place]);
    const first = line[0] && plane.toDrawing(line[0]);
    const px = chartOf(svg)?.scale ?? 1;
    if (first && line.length >= 3 && Math.hypot(first.x - x, first.y - y) < 22 * px) return keep(line);
    line.push(place);
    return draw();
  }
  choose(target.closest('[data-of]')?.getAttribute('data-of') ?? '');
});

/** @param {string} n */
function choose(n) {
  if (chosen !== n) corner = undefined;
  chosen = n;
  draw();
}

/** @type {{ at: At, pointer: number, moved: boolean } | undefined} */
let drag;
handles.addEventListener('pointerdown', (event) => {
  const at = handleAt(event.target);
  if (!at || event.button !== 0) return;
  event.preventDefault();
  if (at.between) insert(at);
  corner = { area: at.area, ring: at.ring, corner: at.corner + (at.between ? 1 : 0) };
  drag = { at: corner, pointer: event.pointerId, moved: at.between };
  // The handle itself is drawn anew while it moves, so the drawing holds the pointer.
  svg.setPointerCapture(event.pointerId);
  focusCorner();
});
svg.addEventListener('pointermove', (event) => {
  if (!drag || event.pointerId !== drag.pointer) return;
  const to = chartOf(svg)?.at({ x: event.clientX, y: event.clientY });
  if (!to) return;
  move(drag.at, to, drag.moved);
  drag.moved = true;
});
for (const name of ['pointerup', 'pointercancel']) {
  svg.addEventListener(name, (event) => {
    if (drag?.pointer === /** @type {PointerEvent} */ (event).pointerId) drag = undefined;
  });
}

/** @param {EventTarget | null} target @returns {(At & { between: boolean }) | undefined} */
function handleAt(target) {
  const key = target instanceof Element ? target.closest('[data-handle]')?.getAttribute('data-handle') : null;
  if (!key) return undefined;
  const [sort, area, ring, corner] = key.split('-');
  return { between: sort === 'i', area: Number(area), ring: Number(ring), corner: Number(corner) };
}

let stepping = '';
document.addEventListener('keydown', (event) => {
  const key = event.key.toLowerCase();
  const isTyped = event.target instanceof HTMLTextAreaElement || event.target instanceof HTMLInputElement;
  if (!(event.ctrlKey || event.metaKey) || isTyped || (key !== 'z' && key !== 'y')) return;
  event.preventDefault();
  if (key === 'y' || event.shiftKey) turn(redone, undone);
  else undo();
});

form.addEventListener('keydown', (event) => {
  if (event.ctrlKey || event.metaKey) return;
  const key = event.key.toLowerCase();
  const at = handleAt(event.target);
  if (!at) {
    if (event.target === svg && event.key === 'Enter' && line.length >= 3) keep(line);
    if (event.key === 'Escape' && drawing) [drawing, line] = ['', []], draw();
    return;
  }
  const step = event.shiftKey ? 10 : 1;
  const by = { arrowleft: [-step, 0], arrowright: [step, 0], arrowup: [0, -step], arrowdown: [0, step] }[key];
  if (by && !at.between) {
    event.preventDefault();
    const place = ringOf(at)?.[at.corner];
    if (!place) return;
    const from = plane.toDrawing(place);
    // Steps of one corner in a row are one change to undo.
    const steps = `${chosen} ${at.area} ${at.ring} ${at.corner} ${undone.length}`;
    move(at, { x: from.x + (by[0] ?? 0), y: from.y + (by[1] ?? 0) }, stepping === steps);
    stepping = `${chosen} ${at.area} ${at.ring} ${at.corner} ${undone.length}`;
  } else if (key === 'delete' || key === 'backspace') {
    event.preventDefault();
    remove(at);
  } else if (at.between && (key === 'enter' || key === ' ')) {
    event.preventDefault();
    insert(at);
  }
});

function undo() {
  if (line.length) {
    line.pop();
    return draw();
  }
  turn(undone, redone);
}

form.addEventListener('click', (event) => {
  const button = event.target instanceof Element ? event.target.closest('button') : null;
  const what = button?.dataset.edit;
  const kind = button?.dataset.draw;
  if (kind) {
    [drawing, line, chosen, corner] = [drawing === kind ? '' : kind, [], '', undefined];
    return draw();
  }
  if (what === 'finish' && line.length >= 3) keep(line);
  else if (what === 'undo') undo();
  else if (what === 'redo') turn(redone, undone);
  else if (what === 'corner' && corner) remove(corner);
  else if (what === 'feature' && own()) {
    change(() => (features = features.filter((one) => one.n !== chosen)));
    choose('');
  }
});

list.addEventListener('toggle', (event) => {
  const one = event.target;
  if (one instanceof HTMLDetailsElement && one.open && !drawing) choose(one.dataset.feature ?? '');
}, true);

// What is typed: names and kinds are taken at once, lines by the server, which alone reads them.
form.addEventListener('change', (event) => {
  const name = event.target instanceof HTMLElement ? event.target.getAttribute('name') ?? '' : '';
  if (!/^(name|kind|corners|remove)-\d+$/.test(name)) return;
  undone.push(JSON.stringify(features));
  redone = [];
  const n = name.split('-')[1] ?? '';
  if (name.startsWith('corners')) return ask();
  take();
  if (name.startsWith('remove') && chosen === n) chosen = '';
  for (const feature of features) title(feature);
  draw();
  ask();
});

/** @type {ReturnType<typeof setTimeout> | undefined} */
let pause;
/** @type {AbortController | undefined} */
let asked;
function ask() {
  asked?.abort();
  clearTimeout(pause);
  say(word('asking'));
  pause = setTimeout(check, PAUSE_MS);
}

/** @param {string} text @param {boolean} [failed] */
function say(text, failed = false) {
  const place = form.querySelector('[data-chart-asking]');
  if (place && place.textContent !== text) place.textContent = text;
  place?.toggleAttribute('data-failed', failed);
}

async function check() {
  const mine = new AbortController();
  asked = mine;
  const body = new URLSearchParams();
  for (const [name, value] of new FormData(form)) if (typeof value === 'string') body.append(name, value);
  body.set('do', 'check');
  try {
    const answer = await fetch(form.action, { method: 'POST', body, signal: mine.signal, credentials: 'same-origin' });
    if (answer.redirected || !(answer.ok || answer.status === 422)) throw new Error(`answered ${answer.status}`);
    const page = new DOMParser().parseFromString(await answer.text(), 'text/html');
    const [next, held] = [page.getElementById('answer'), document.getElementById('answer')];
    if (!next || !held) throw new Error('no answer in the page');
    if (asked !== mine) return;
    held.replaceChildren(...next.childNodes);
    let drawn = false;
    for (const one of page.querySelectorAll('[data-feature]')) {
      const n = one.getAttribute('data-feature') ?? '';
      const text = field('corners', n);
      const read = one.getAttribute('data-read') ?? '';
      const here = text?.closest('details');
      // Typed as new: from now on it is one of the list.
      if (here === blank && text) moveBlank(n);
      const mineHere = list.querySelector(`[data-feature="${n}"]`);
      if (!mineHere || !read || features.some((feature) => feature.n === n && same(feature.areas, read))) continue;
      mineHere.setAttribute('data-read', read);
      drawn = true;
    }
    if (drawn) {
      take();
      draw();
    }
    say('');
  } catch {
    if (asked === mine) say(word('asking-failed'), true);
  }
}

/** @param {Place[][][]} areas @param {string} read to the decimals that are typed */
const same = (areas, read) => lines(areas) === lines(JSON.parse(read));

/** What was typed into the empty feature becomes one of the list. @param {string} n */
function moveBlank(n) {
  const values = ['name', 'kind', 'corners'].map((of) => field(of, n)?.value ?? '');
  const focused = blank.contains(document.activeElement) ? document.activeElement?.getAttribute('name') : undefined;
  const one = added(n);
  renumber(blank, n, String(Number(n) + 1));
  ['name', 'kind', 'corners'].forEach((of, nth) => set(field(of, n), values[nth] ?? ''));
  for (const part of blank.querySelectorAll('input, textarea, select')) /** @type {HTMLInputElement} */ (part).value = '';
  one.open = true;
  if (blank instanceof HTMLDetailsElement) blank.open = false;
  title({ n, name: values[0] ?? '', kind: values[1] ?? '', areas: [] });
  if (focused) /** @type {HTMLElement | null} */ (form.elements.namedItem(focused))?.focus();
}

/** Gives fields another number. @param {Element} one @param {string} from @param {string} to */
function renumber(one, from, to) {
  for (const part of one.querySelectorAll('[id], [for], [name], [aria-describedby]')) {
    for (const name of ['id', 'for', 'name', 'aria-describedby']) {
      const value = part.getAttribute(name);
      if (value) part.setAttribute(name, value.replaceAll(`-${from}`, `-${to}`));
    }
  }
}

take();
draw();
