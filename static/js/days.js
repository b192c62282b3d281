// Renews the page of a day with the pictures of its trips: it listens to each trip's stream, and
// says so when the box falls silent. For trips it has no connection for it asks every 15 s.
import { renew } from './live.js';

const EVERY_MS = 15_000;
const SETTLE_MS = 200;
const STALE_MS = 20_000;

/** @type {Map<string, EventSource>} */
const streams = new Map();
let heardAt = performance.now();
/** @type {ReturnType<typeof setTimeout> | undefined} */
let settling;

function heard() {
  heardAt = performance.now();
  show();
}

function settle() {
  clearTimeout(settling);
  settling = setTimeout(renew, SETTLE_MS);
}

/** Says how old the page is, once it is. */
function show() {
  const place = document.getElementById('day-age');
  if (!place) return;
  const stale = performance.now() - heardAt >= STALE_MS;
  if (place.hidden !== !stale) place.hidden = !stale;
  const text = stale ? (place.dataset.word ?? '') : '';
  if (place.textContent !== text) place.textContent = text;
}

/** Listens to the trips of the page as it stands, and to no others. */
function listen() {
  const wanted = new Set((document.getElementById('boats')?.dataset.streams ?? '').split(' ').filter(Boolean));
  for (const [url, stream] of streams) {
    if (wanted.has(url) && stream.readyState !== EventSource.CLOSED) continue;
    stream.close();
    streams.delete(url);
  }
  for (const url of wanted) {
    if (streams.has(url)) continue;
    const stream = new EventSource(url);
    let first = true;
    stream.addEventListener('beat', heard);
    stream.addEventListener('notices', settle);
    stream.addEventListener('picture', () => {
      heard();
      // The page was drawn from the first one, or a moment before it.
      if (!first) settle();
      first = false;
    });
    streams.set(url, stream);
  }
}

listen();
document.addEventListener('renewed', () => {
  heard();
  listen();
});
setInterval(() => {
  if (!document.hidden) renew();
}, EVERY_MS);
setInterval(show, 1000);
document.addEventListener('visibilitychange', () => {
  if (document.visibilityState === 'visible') settle();
});
