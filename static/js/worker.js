// The service worker: keeps the shell and the files of one version of the program, so that a page
// opens when the box does not answer. It keeps no page of a trip: those are the box's to say.
/// <reference lib="webworker" />

/** Set before this text by the box: the build and the files it keeps. @type {{ build: string, files: string[] }} */
const kept = /** @type {any} */ (KEPT);
const worker = /** @type {ServiceWorkerGlobalScope} */ (/** @type {unknown} */ (self));
const CACHE = `shell-${kept.build}`;
const SHELL = '/alone';
/** So long a page may take to begin before the shell is shown, unless the box answers a smaller question. */
const PAGE_MS = 2_000;
const ALIVE_MS = 1_500;

worker.addEventListener('install', (event) => {
  // All or nothing: a shell with a file missing is none. A worker that fails here is tried again.
  event.waitUntil(caches.open(CACHE).then((cache) => cache.addAll([...kept.files, SHELL, '/deckwatch.webmanifest'])));
});

worker.addEventListener('activate', (event) => {
  event.waitUntil(
    caches.keys().then((names) => Promise.all(names.filter((name) => name.startsWith('shell-') && name !== CACHE).map((name) => caches.delete(name))))
      .then(() => worker.clients.claim()));
});

// A page that nobody is typing on takes the new version over.
worker.addEventListener('message', (event) => {
  if (event.data === 'take-over') worker.skipWaiting();
});

worker.addEventListener('fetch', (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (url.origin !== worker.location.origin) return;
  if (request.mode === 'navigate') event.respondWith(page(request, url));
  else if (request.method === 'GET' && (url.pathname.startsWith('/static/') || url.pathname === SHELL || url.pathname === '/deckwatch.webmanifest')) {
    event.respondWith(file(request, url));
  }
});

/** @param {Request} request @param {URL} url */
async function file(request, url) {
  if (url.pathname.startsWith('/static/')) return (await caches.match(request)) ?? fetch(request);
  try {
    return await fetch(request);
  } catch {
    return (await caches.match(request, { ignoreSearch: true })) ?? Response.error();
  }
}

/** A page of the box; the shell if it does not answer. @param {Request} request @param {URL} url */
async function page(request, url) {
  const answer = fetch(request).catch(() => null);
  const slow = new Promise((resolve) => setTimeout(resolve, PAGE_MS, 'slow'));
  const first = await Promise.race([answer, slow]);
  if (first instanceof Response) return first;
  // A form that was sent is never sent twice, nor hidden while it may still arrive.
  if (first === 'slow' && (request.method !== 'GET' || (await isAlive()))) {
    const late = await answer;
    if (late) return late;
  }
  return (await caches.match(SHELL)) ?? Response.error();
}

async function isAlive() {
  try {
    return (await fetch('/api/health', { cache: 'no-store', signal: AbortSignal.timeout(ALIVE_MS) })).ok;
  } catch {
    return false;
  }
}
