// What a page is measured by: targets for wet and gloved hands, room between opposites, words and
// figures that are not cut, no sideways scroll.

/** @typedef {{ primary: number, other: number, apart: number }} Floor */

/** Floors in CSS px. Boat: 19 mm keys for mittens (MIL-STD-1472E) on a phone of 6.4 px/mm make 112
 * for what is hit first, and 72 for the rest. Desk: WCAG 2.2, 2.5.5, 44 px.
 * @satisfies {Record<string, Floor>} */
const floors = {
  helm: { primary: 112, other: 72, apart: 16 },
  deck: { primary: 112, other: 72, apart: 16 },
  desk: { primary: 44, other: 44, apart: 16 },
  none: { primary: 44, other: 44, apart: 16 },
};

/**
 * Names every target that is too small, every pair of buttons that stand too near, and what is cut.
 * Runs inside the page.
 * @param {Floor} floor
 * @returns {string[]}
 */
function measure(floor) {
  // Layout rounds to a 64th of a pixel.
  const slack = 0.05;
  /** @type {string[]} */
  const faults = [];
  /** @param {Element} one */
  const words = (one) => (one.textContent ?? '').replace(/\s+/g, ' ').trim().slice(0, 40) || one.id || one.outerHTML.slice(0, 60);
  /** @param {Element} one */
  const seen = (one) => {
    const box = one.getBoundingClientRect();
    return one.checkVisibility({ visibilityProperty: true }) && box.width > 1 && box.height > 1 && !one.closest('.unseen, .skip');
  };
  /** A link inside a sentence is as high as its line (WCAG 2.2, 2.5.5, inline).
   * @param {Element} one */
  const inSentence = (one) => one.matches('a:not([class])') && one.closest('p, dd, li, td') !== null && getComputedStyle(one).display === 'inline';
  const targets = [...document.querySelectorAll('a[href], button, select, textarea, summary, input:not([type="hidden"])')]
    .map((one) => (one.matches('[type="radio"], [type="checkbox"]') ? (one.closest('label') ?? one) : one))
    .filter((one) => seen(one) && !inSentence(one));
  for (const one of new Set(targets)) {
    const box = one.getBoundingClientRect();
    const need = one.matches('.button.primary, .button.grave') ? floor.primary : floor.other;
    if (box.height < need - slack || box.width < Math.min(need, floor.other) - slack) {
      faults.push(`${box.width.toFixed(0)}×${box.height.toFixed(0)} px, wanted ${need}: ${words(one)}`);
    }
  }
  // What is tapped by mistake for its neighbour: buttons that act, the tiles of a choice, and the
  // lines that lead on beside them.
  const acts = [...document.querySelectorAll('.button, .tile, .line-link')].filter(seen);
  for (const [n, one] of acts.entries()) {
    const a = one.getBoundingClientRect();
    for (const other of acts.slice(n + 1)) {
      // What sticks to the screen lies over what scrolls; only what shares a layer is neighbours.
      if (one.closest('.shelf, .strip, .spine') !== other.closest('.shelf, .strip, .spine')) continue;
      // Of two lines that lead on, the wrong one does nothing.
      if (one.matches('.line-link') && other.matches('.line-link')) continue;
      const b = other.getBoundingClientRect();
      const across = Math.max(a.left - b.right, b.left - a.right);
      const down = Math.max(a.top - b.bottom, b.top - a.bottom);
      const gap = Math.max(across, down);
      if (gap < floor.apart - slack) faults.push(`${gap.toFixed(0)} px between '${words(one)}' and '${words(other)}'`);
    }
  }
  // Words keep within what is tapped, off its edge, and whole.
  for (const one of document.querySelectorAll('.button, .tile, .check, .way, .strip-more')) {
    if (!seen(one)) continue;
    const box = one.getBoundingClientRect();
    const [from, to] = [box.left + one.clientLeft, box.left + one.clientLeft + one.clientWidth];
    const texts = document.createTreeWalker(one, NodeFilter.SHOW_TEXT);
    for (let text = texts.nextNode(); text; text = texts.nextNode()) {
      if (text.parentElement?.closest('.unseen')) continue;
      for (const word of (text.textContent ?? '').matchAll(/[^\s-]+/g)) {
        const range = document.createRange();
        range.setStart(text, word.index);
        range.setEnd(text, word.index + word[0].length);
        const parts = [...range.getClientRects()].filter((part) => part.width > 1);
        const room = Math.min(...parts.map((part) => Math.min(part.left - from, to - part.right)));
        if (room < 2) faults.push(`${room.toFixed(0)} px from '${word[0]}' to the edge of '${words(one)}'`);
        // But where its author would part it, with a hyphen in a box of its own.
        if (parts.length > 2 * word[0].split('\u00ad').length - 1) faults.push(`'${word[0]}' is torn in '${words(one)}'`);
      }
    }
  }
  // What stands in a field is seen whole.
  for (const one of document.querySelectorAll('input[inputmode]')) {
    if (seen(one) && one.scrollWidth > one.clientWidth) faults.push(`cut in its field: ${/** @type {HTMLInputElement} */ (one).value}`);
  }
  // Tiles beside each other begin at one height.
  for (const set of document.querySelectorAll('.tile-set')) {
    const tiles = [...set.children].filter(seen).map((one) => ({ one, box: one.getBoundingClientRect() }));
    for (const [n, next] of tiles.slice(1).entries()) {
      const before = tiles[n];
      if (before && next.box.left > before.box.left && Math.abs(next.box.top - before.box.top) > 0.5) {
        faults.push(`'${words(next.one)}' is not in line with '${words(before.one)}'`);
      }
    }
  }
  return faults;
}

/** By how many px the page is wider than its window. */
export function tooWide() {
  const page = document.scrollingElement ?? document.documentElement;
  return page.scrollWidth - page.clientWidth;
}

/** What is too small, too near or cut on a page, once its styles are there.
 * @param {import('@playwright/test').Page} page @param {keyof typeof floors} place */
export async function sizes(page, place) {
  await page.waitForLoadState('load');
  return page.evaluate(measure, floors[place]);
}
