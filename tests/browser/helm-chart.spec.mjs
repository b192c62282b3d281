// The helm's chart under a thumb: a tap says where a buoy was seen, panning does not, and keys and
// buttons move the window.
import { expect, test } from '@playwright/test';

import { drill, drillTrip, drillWindow, screens } from './crew.mjs';

test('a tap on the chart leads to the form of a buoy seen there, a drag does not', async ({ browser }) => {
  const context = await drillWindow(browser, drill.skipper, { viewport: screens.helm });
  const page = await context.newPage();
  const trip = await drillTrip(context);
  await page.goto(`/helm/${trip}/chart`);
  const chart = page.locator('svg.sea-chart');
  const box = await chart.boundingBox();
  if (!box) throw new Error('the chart has no place on the page');
  const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
  // Its left edge, top, width and height in tens of metres: what is shown grows by the minute.
  const window = async () => String(await chart.getAttribute('viewBox')).split(' ').map((figure) => Math.round(Number(figure) / 10));
  const before = await window();
  const isWhole = async () => (await window()).every((figure, nth) => Math.abs(figure - (before[nth] ?? NaN)) <= 5);

  // The bar is as long as it says: the drawing's unit is the metre.
  const bar = await page.locator('[data-chart-bar]').evaluate((one) => {
    const svg = /** @type {SVGSVGElement} */ (one.closest('svg'));
    const px = /** @type {SVGPathElement} */ (one.querySelector('path')).getBoundingClientRect().width;
    const { width, height } = svg.getBoundingClientRect();
    const { width: wide, height: high } = svg.viewBox.baseVal;
    return { says: Number.parseFloat(one.textContent ?? ''), is: px * Math.max(wide / width, high / height) };
  });
  expect(bar.is / bar.says).toBeGreaterThan(0.95);
  expect(bar.is / bar.says).toBeLessThan(1.05);

  await page.mouse.move(x, y);
  await page.mouse.down();
  await page.mouse.move(x + 80, y + 40, { steps: 4 });
  await page.mouse.up();
  await expect.poll(isWhole).toBe(false);
  expect(page.url(), 'a drag pans').toContain('/chart');

  await chart.focus();
  await page.keyboard.press('0');
  await expect.poll(isWhole).toBe(true);
  const near = page.getByRole('button', { name: 'Nearer' });
  await near.click();
  await expect.poll(isWhole).toBe(false);
  await page.getByRole('button', { name: 'All' }).click();
  await expect.poll(isWhole).toBe(true);

  await page.mouse.click(x, y);
  await expect(page).toHaveURL(/\/buoy\?east=-?[\d.]+&north=-?[\d.]+$/);
  // The middle of the drawing lies within a kilometre of the site.
  await expect(page.getByLabel('Latitude')).toHaveValue(/^3\.(19|20|21)\d+$/);
  await expect(page.getByLabel('Longitude')).toHaveValue(/^-127\.4[45]\d+$/);
  await expect(page.getByRole('group', { name: 'Whose buoy' }).getByRole('radio').first()).toBeVisible();
  await context.close();
});

test('without scripts the chart is whole, and bearing and range do for a tap', async ({ browser }) => {
  const context = await drillWindow(browser, drill.skipper, { viewport: screens.helm, javaScriptEnabled: false });
  const page = await context.newPage();
  const trip = await drillTrip(context);
  await page.goto(`/helm/${trip}/chart`);
  await expect(page.locator('svg.sea-chart')).toBeVisible();
  await expect(page.getByRole('button', { name: 'Nearer' })).toBeHidden();
  await expect(page.locator('.bearings .bearing').first()).toBeVisible();
  await page.getByRole('link', { name: 'Buoy seen' }).click();
  await expect(page.getByRole('textbox', { name: 'Bearing' })).toBeVisible();
  await expect(page.getByRole('textbox', { name: 'Range' })).toBeVisible();
  await context.close();
});
