// axe-core in the three palettes, for every test that looks at a screen.
import axe from 'axe-core';

const TAGS = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'];
const PALETTES = ['day', 'dusk', 'night'];

/**
 * axe-core in one palette. The palettes differ in colours alone, so the whole set of rules runs by
 * day and those for colour in all three: 7:1 (1.4.6, which holds 4.5:1 too) by day and dusk,
 * 4.5:1 (1.4.3) by night.
 * @param {import('@playwright/test').Page} page
 * @param {string} palette
 */
async function faultsIn(page, palette) {
  return page.evaluate(
    async ({ tags, palette }) => {
      document.documentElement.dataset.palette = palette;
      const colours = palette === 'night' ? 'color-contrast' : 'color-contrast-enhanced';
      const set =
        palette === 'day'
          ? { runOnly: tags, rules: { 'color-contrast': { enabled: false }, [colours]: { enabled: true } } }
          : { runOnly: { type: 'rule', values: [colours] } };
      const { violations } = await /** @type {any} */ (globalThis).axe.run(document, { resultTypes: ['violations'], preload: false, ...set });
      return violations.flatMap((/** @type {any} */ rule) =>
        rule.nodes.map((/** @type {any} */ node) => `${rule.id} by ${palette}: ${node.html.slice(0, 160)} ${node.failureSummary.split('\n')[1] ?? ''}`),
      );
    },
    { tags: TAGS, palette },
  );
}

/**
 * axe-core in the three palettes, in a window as high as the page: what sticks to the edge of a
 * lower one covers, at any one scroll position, half of what scrolls.
 * @param {import('@playwright/test').Page} page
 * @param {string[]} palettes
 */
export async function everyPalette(page, palettes = PALETTES) {
  // A page that a form answers can be read before its styles are there.
  await page.waitForLoadState('load');
  const was = page.viewportSize();
  const height = await page.evaluate(() => document.documentElement.scrollHeight);
  if (was) await page.setViewportSize({ width: was.width, height: Math.max(height + 200, was.height) });
  await page.evaluate(axe.source);
  const faults = [];
  for (const palette of palettes) faults.push(...(await faultsIn(page, palette)));
  if (was) await page.setViewportSize(was);
  return faults;
}
