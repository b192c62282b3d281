// The position of the device itself, where the browser gives it: asked for once, when the button
// is pressed, and sent with how far it may be off. The server judges both.

/** Longest that the receiver may take. */
const PATIENCE_MS = 30000;

/** @param {string | undefined} words */
function say(words) {
  const place = document.querySelector('[data-own-place-says]');
  if (place) place.textContent = words ?? '';
}

/** @param {HTMLFormElement} form @param {string} name @param {number} value */
function fill(form, name, value) {
  const field = form.elements.namedItem(name);
  if (field instanceof HTMLInputElement) field.value = String(value);
}

/** @param {HTMLFormElement} form */
function ask(form) {
  const words = form.dataset;
  // Browsers give no position to a page that came over plain http from elsewhere.
  if (!globalThis.isSecureContext) return say(words.wordInsecure);
  if (!('geolocation' in navigator)) return say(words.wordNone);
  say(words.wordAsking);
  navigator.geolocation.getCurrentPosition(
    ({ coords }) => {
      // Seven decimals are a centimetre, and never a figure with an exponent.
      fill(form, 'latitude', Number(coords.latitude.toFixed(7)));
      fill(form, 'longitude', Number(coords.longitude.toFixed(7)));
      fill(form, 'accuracy', Math.ceil(coords.accuracy));
      form.submit();
    },
    (why) => say(why.code === why.PERMISSION_DENIED ? words.wordDenied : words.wordFailed),
    { enableHighAccuracy: true, maximumAge: 0, timeout: PATIENCE_MS },
  );
}

document.addEventListener('submit', (event) => {
  const form = event.target;
  if (!(form instanceof HTMLFormElement) || form.dataset.ownPlace === undefined) return;
  event.preventDefault();
  ask(form);
});
