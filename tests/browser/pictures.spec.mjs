// The pictures of the README, as the screens really are; and how dark the night screen is.
import { writeFile } from 'node:fs/promises';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

import { expect, test } from '@playwright/test';

import { drill, drillTrip, drillWindow, screens } from './crew.mjs';
import { small } from './png.mjs';

const FOLDER = join(dirname(fileURLToPath(import.meta.url)), 'pictures');
/** No picture of the README is larger. */
const MOST_BYTES = 150_000;

/** @param {import('@playwright/test').Page} page @param {'day' | 'dusk' | 'night'} palette */
async function choose(page, palette) {
  const word = { day: 'Day', dusk: 'Dusk', night: 'Night' }[palette];
  // The one that is on is not offered where there is little room.
  const button = page.getByRole('button', { name: word, exact: true });
  if ((await page.locator('html').getAttribute('data-palette')) !== palette) await button.click();
  await expect(page.locator('html')).toHaveAttribute('data-palette', palette);
  // The switch stands at the foot of a phone's page; the picture is of its head.
  await page.evaluate(() => {
    scrollTo(0, 0);
    if (document.activeElement instanceof HTMLElement) document.activeElement.blur();
  });
}

/**
 * The dots of a picture, unpacked by the browser that drew it.
 * @param {import('@playwright/test').Page} page @param {Buffer} png
 */
async function dots(page, png) {
  const { width, height, packed } = await page.evaluate(async (base64) => {
    const bytes = Uint8Array.from(atob(base64), (c) => c.charCodeAt(0));
    const image = await createImageBitmap(new Blob([bytes], { type: 'image/png' }));
    const pen = new OffscreenCanvas(image.width, image.height).getContext('2d');
    if (!pen) throw new Error('no canvas');
    pen.drawImage(image, 0, 0);
    const { data } = pen.getImageData(0, 0, image.width, image.height);
    let packed = '';
    for (let n = 0; n < data.length; n += 8192) packed += String.fromCharCode(...data.subarray(n, n + 8192));
    return { width: image.width, height: image.height, packed: btoa(packed) };
  }, png.toString('base64'));
  return { width, height, rgba: new Uint8Array(Buffer.from(packed, 'base64')) };
}

/** Mean relative luminance (WCAG 2.2, definition of relative luminance). @param {Uint8Array} rgba */
function luminance(rgba) {
  const linear = Array.from({ length: 256 }, (_, n) => (n / 255 <= 0.04045 ? n / 255 / 12.92 : ((n / 255 + 0.055) / 1.055) ** 2.4));
  const light = (/** @type {number} */ n) => linear[rgba[n] ?? 0] ?? 0;
  let sum = 0;
  for (let n = 0; n < rgba.length; n += 4) sum += 0.2126 * light(n) + 0.7152 * light(n + 1) + 0.0722 * light(n + 2);
  return sum / (rgba.length / 4);
}

/**
 * Leaves a number of alarms on the watch list: how many the drill has hangs on how long it runs.
 * @param {import('@playwright/test').Page} page @param {number} alarms
 */
const leave = (page, alarms) =>
  page.evaluate((alarms) => {
    for (const [n, row] of document.querySelectorAll('li.row').entries()) row.setAttribute('data-urgency', n < alarms ? 'alarm' : 'none');
    // Only an alarm brings these.
    for (const one of document.querySelectorAll('#strip .strip-rows, #strip .strip-more, .shelf form:has([name="alert"])')) {
      if (one instanceof HTMLElement) one.hidden = alarms === 0;
    }
  }, alarms);

test('by night the watch list is at most 6 % as bright as by day, and 12 % with two alarms', async ({ browser }) => {
  const context = await drillWindow(browser, drill.skipper, { viewport: screens.helm, reducedMotion: 'reduce' });
  const page = await context.newPage();
  // Nothing new comes in while it is measured.
  await page.route('**/api/trips/*/live*', (route) => route.abort());
  await page.goto(`/helm/${await drillTrip(context)}`);
  await expect(page.locator('li.row').first()).toBeVisible();
  await expect(page.locator('#strip .alert').first()).toBeVisible();
  const bright = async () => luminance((await dots(page, await page.screenshot())).rgba);
  const all = await page.locator('li.row:is([data-urgency="alarm"], [data-urgency="emergency"])').count();
  await choose(page, 'night');
  const crowded = await bright();
  await leave(page, 1);
  const alarmed = await bright();
  await leave(page, 2);
  const twice = await bright();
  await leave(page, 0);
  const night = await bright();
  await choose(page, 'day');
  const day = await bright();
  const share = (/** @type {number} */ one) => `${((one / day) * 100).toFixed(1)} %`;
  console.log(`mean luminance by night, of a quiet day's ${day.toFixed(3)}: quiet ${share(night)}, one alarm ${share(alarmed)}, two ${share(twice)}, ${all} alarms ${share(crowded)}`);
  expect(night / day).toBeLessThanOrEqual(0.06);
  expect(twice / day).toBeLessThanOrEqual(0.12);
  await context.close();
});

test('the pictures of the README', async ({ browser }) => {
  test.skip(process.env.PICTURES !== '1', 'written only when PICTURES=1 is set');
  /** @type {[string, keyof typeof screens, string, (page: import('@playwright/test').Page, trip: string) => Promise<string>][]} */
  const views = [
    ['helm-watch', 'helm', drill.skipper, async (_, trip) => `/helm/${trip}`],
    ['helm-pickup', 'helm', drill.skipper, async (_, trip) => `/helm/${trip}/pickup`],
    ['helm-chart', 'helm', drill.skipper, async (_, trip) => `/helm/${trip}/chart`],
    ['deck-group', 'deck', drill.divemaster, async (page, trip) => {
      await page.goto(`/deck/${trip}`);
      return String(await page.locator('li.row[data-phase="split"] a').first().getAttribute('href'));
    }],
    ['desk-groups', 'desk', drill.desk, async (_, trip) => `/desk/${trip}/groups`],
    ['desk-boat-sheet', 'desk', drill.desk, async (_, trip) => `/desk/${trip}/boat-sheet`],
  ];
  for (const [name, screen, who, find] of views) {
    const context = await drillWindow(browser, who, { viewport: screens[screen], reducedMotion: 'reduce' });
    const page = await context.newPage();
    await page.goto(await find(page, await drillTrip(context)));
    for (const palette of /** @type {const} */ (['day', 'night'])) {
      await choose(page, palette);
      const drawn = await dots(page, await page.screenshot({ animations: 'disabled' }));
      const png = small(drawn.width, drawn.height, drawn.rgba);
      expect(png.length, `${name}-${palette}`).toBeLessThan(MOST_BYTES);
      await writeFile(join(FOLDER, `${name}-${palette}.png`), png);
    }
    await context.close();
  }
});
