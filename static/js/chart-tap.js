// A tap on the chart of a dive says where a buoy was seen: it leads to the form with the place.

import './chart-view.js';

function show() {
  for (const one of document.querySelectorAll('[data-with-script][hidden]')) one.removeAttribute('hidden');
}

document.addEventListener('charttap', (event) => {
  const svg = event.target;
  if (!(svg instanceof SVGSVGElement) || !(event instanceof CustomEvent)) return;
  const buoy = svg.closest('[data-buoy]')?.getAttribute('data-buoy');
  if (!buoy) return;
  // The drawing's unit is the metre, east and south of the site.
  location.assign(`${buoy}?east=${event.detail.x.toFixed(1)}&north=${(-event.detail.y).toFixed(1)}`);
}, true);
document.addEventListener('renewed', show);
show();
