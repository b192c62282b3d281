// Counts down how long a tap can be undone from its bar, then takes the bar away.
import { now } from './clock.js';

setInterval(() => {
  for (const bar of document.querySelectorAll('[data-undo-until]')) {
    if (!(bar instanceof HTMLElement)) continue;
    const left = Math.ceil((Date.parse(bar.dataset.undoUntil ?? '') - now()) / 1000);
    // Never from under a finger or the keyboard.
    if (left <= 0 && !bar.matches(':hover, :focus-within')) bar.hidden = true;
    const text = bar.querySelector('[data-undo-left]');
    if (text && Number.isFinite(left)) text.textContent = left > 0 ? `${left} s` : '';
  }
}, 500);
