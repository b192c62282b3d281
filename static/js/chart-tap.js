// A tap on the chart of a dive says where a buoy was seen: it leads to the form with the place.

import './chart-view.js';

function show() {
  for (const one of document.querySelectorAll('[data-with-script][hidden]')) one.removeAttribute('hidden');
}

document.addEventListener('charttap', (event) => {
  const svg = event.target;
  if (!(svg instanceof SVGSVGElement) || !(event instanceof CustomEvent)) return;
  const buoy = svg.closest('[data-buoy]')?.getAttribute('data-buoy');
  const [west, north, scale] = ['west', 'north', 'scale'].map((name) => Number(svg.dataset[name]));
  if (!buoy || !scale) return;
  const east = west + event.detail.x / scale;
  const up = north - event.detail.y / scale;
  location.assign(`${buoy}?east=${east.toFixed(1)}&north=${up.toFixed(1)}`);
}, true);
document.addEventListener('renewed', show);
show();
