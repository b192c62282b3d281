// Installs the service worker where the origin allows it, and takes a new version over when nobody
// is typing: what is kept on the device outlives the change.

const ASK_MS = 60 * 60_000;

if (isSecureContext && 'serviceWorker' in navigator) {
  const had = navigator.serviceWorker.controller !== null;
  navigator.serviceWorker.register('/sw.js').then(
    (registration) => {
      document.documentElement.dataset.worker = 'registered';
      navigator.serviceWorker.ready.then(() => (document.documentElement.dataset.worker = 'ready'));
      setInterval(() => registration.update().catch(() => undefined), ASK_MS);
      document.addEventListener('newer', () => registration.update().catch(() => undefined));
      const offer = () => {
        const typing = document.querySelector('form[data-edited]') !== null;
        if (registration.waiting && had && !typing) registration.waiting.postMessage('take-over');
      };
      registration.addEventListener('updatefound', () => registration.installing?.addEventListener('statechange', offer));
      document.addEventListener('renewed', offer);
      offer();
    },
    // Over an origin that is not trusted there is none; the page works while it is open.
    () => (document.documentElement.dataset.worker = 'refused'),
  );
  let taken = false;
  navigator.serviceWorker.addEventListener('controllerchange', () => {
    // A page that works alone leaves by itself, when what waits is delivered.
    if (!had || taken || document.documentElement.dataset.alone !== undefined || document.querySelector('form[data-edited]')) return;
    taken = true;
    location.reload();
  });
}
