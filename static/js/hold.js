// Holding a button for 0.8 s does at once what a tap asks about on a page of its own.

const HOLD_MS = 800;
/** @type {ReturnType<typeof setTimeout> | undefined} */
let timer;
let done = false;

/** @param {Event} event @returns {HTMLElement | null} */
function held(event) {
  const one = event.target instanceof Element ? event.target.closest('[data-hold]') : null;
  return one instanceof HTMLElement ? one : null;
}

function release() {
  clearTimeout(timer);
  for (const one of document.querySelectorAll('.holding')) one.classList.remove('holding');
}

document.addEventListener('pointerdown', (event) => {
  const one = held(event);
  if (!one || event.button !== 0) return;
  done = false;
  one.classList.add('holding');
  timer = setTimeout(() => {
    done = true;
    const form = one.closest('form');
    if (one.isConnected && form) form.requestSubmit();
    release();
  }, HOLD_MS);
});
for (const name of ['pointerup', 'pointercancel', 'blur']) addEventListener(name, release);
document.addEventListener('pointermove', (event) => {
  // Sliding off the button is a change of mind.
  const under = document.elementFromPoint(event.clientX, event.clientY);
  if (document.querySelector('.holding') && !under?.closest('.holding')) release();
});
document.addEventListener('click', (event) => {
  if (done && held(event)) event.preventDefault();
});
document.addEventListener('contextmenu', (event) => {
  if (held(event)) event.preventDefault();
});
document.addEventListener('dragstart', (event) => {
  if (held(event)) event.preventDefault();
});
