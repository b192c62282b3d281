// A plan is answered while it is typed: only the answer changes, a late one never stands over a
// newer one, a missing one is said; and without scripts the button does the same.
import { expect, test } from '@playwright/test';

import { everyPalette } from './axe.mjs';
import { sizes, tooWide } from './boxes.mjs';
import { drill, drillTrip, drillWindow, screens } from './crew.mjs';

/** A plan of the drill that can still be changed.
 * @param {import('@playwright/test').Page} page @returns {Promise<string>} its address */
async function openPlan(page) {
  const trip = await drillTrip(page.context());
  await page.goto(`/desk/${trip}/groups/1`);
  const plans = await page.locator('a[href*="/plan/"]').evaluateAll((all) => all.map((a) => String(a.getAttribute('href'))));
  for (const plan of plans) {
    await page.goto(plan);
    if ((await page.locator('form[data-answers]').count()) > 0) return plan;
  }
  throw new Error('no plan of the drill can be changed any more');
}

test.describe.configure({ mode: 'parallel' });

test('a plan is answered while it is typed, and what is typed is not touched', async ({ browser }) => {
  const context = await drillWindow(browser, drill.desk, { viewport: screens.desk });
  const page = await context.newPage();
  const plan = await openPlan(page);
  const answer = page.locator('#answer');
  const [depth, minutes] = [page.getByLabel('Depth 1'), page.getByLabel('Minutes 1')];
  await expect(answer).toContainText('As it stands');
  await expect(page.locator('#answer-said')).toHaveAttribute('aria-live', 'polite');
  await page.evaluate(() => Object.assign(globalThis, { untouched: true, said: document.getElementById('answer-said') }));

  await depth.fill('28');
  await minutes.fill('35');
  // Typed on at once: the mark and its place stay where they are.
  await minutes.press('ArrowLeft');
  await expect(answer).toContainText('Checked, not saved yet');
  await expect(answer).toContainText('Breaks a limit for');
  await expect(answer).toContainText(/Owes .* at 6 m, then .* at 3 m/);
  await expect(answer.locator('svg.dive-picture polyline.dive-ceiling').first()).toBeAttached();
  await expect(minutes).toBeFocused();
  await expect(minutes).toHaveValue('35');
  expect(await minutes.evaluate((one) => /** @type {HTMLInputElement} */ (one).selectionStart), 'the mark did not move').toBe(1);
  expect(await page.evaluate(() => 'untouched' in globalThis), 'the page was not loaded again').toBe(true);
  expect(
    await page.evaluate(() => /** @type {any} */ (globalThis).said === document.getElementById('answer-said')),
    'what is read aloud is the same element',
  ).toBe(true);
  // A plan past its limits serves everybody, too.
  const faults = await everyPalette(page);
  faults.push(...(await sizes(page, 'desk')));
  await page.setViewportSize({ width: 320, height: 640 });
  if ((await page.evaluate(tooWide)) > 0) faults.push('too wide at 320 px');
  await page.setViewportSize(screens.desk);
  expect(faults).toEqual([]);

  // What is no figure is said, and nothing is reckoned from it.
  await depth.fill('deep');
  await expect(answer).toContainText('Give a number');
  await expect(answer.locator('.each')).toHaveCount(0);
  await expect(depth).toHaveValue('deep');
  // Nothing of all this was written.
  await page.goto(plan);
  await expect(depth).not.toHaveValue('deep');
  await expect(page.locator('#answer')).toContainText('As it stands');
  await context.close();
});

test('a late answer does not stand over a newer one, and one that does not come is said', async ({ browser }) => {
  const context = await drillWindow(browser, drill.desk, { viewport: screens.desk });
  const page = await context.newPage();
  const plan = await openPlan(page);
  const answer = page.locator('#answer');
  const minutes = page.getByLabel('Minutes 1');
  /** @type {(() => void) | undefined} */
  let letGo;
  const held = new Promise((/** @type {(value?: unknown) => void} */ resolve) => (letGo = resolve));
  let asked = 0;
  await page.route(`**${plan}`, async (route) => {
    if (route.request().method() !== 'POST') return route.continue();
    // Held by what was typed, not by its turn: the depth alone may have been asked first.
    if (new URLSearchParams(route.request().postData() ?? '').getAll('minutes-0').includes('31')) {
      asked += 1;
      await held;
    }
    // The page may have given the first one up by now.
    return route.continue().catch(() => undefined);
  });
  await page.getByLabel('Depth 1').fill('12');
  await minutes.fill('31');
  await expect.poll(() => asked).toBe(1);
  await expect(page.locator('[data-asking]')).toContainText('Reckoning');
  // What others log meanwhile does not give it up, or on a busy day no answer would ever come.
  for (let times = 0; times < 3; times += 1) {
    await page.evaluate(() => document.dispatchEvent(new Event('renewed')));
    await page.waitForTimeout(100);
  }
  expect(asked, 'nothing more was asked').toBe(1);
  await minutes.fill('17');
  await expect(answer).toContainText('12 m 17 min');
  await expect(page.locator('[data-asking]')).toHaveText('');
  letGo?.();
  await page.waitForTimeout(700);
  await expect(answer).toContainText('12 m 17 min');
  await page.unroute(`**${plan}`);

  await page.route(`**${plan}`, (route) => (route.request().method() === 'POST' ? route.abort() : route.continue()));
  await minutes.fill('19');
  await expect(page.locator('[data-asking]')).toContainText('No answer came');
  await expect(answer).toContainText('12 m 17 min');
  await expect(minutes).toHaveValue('19');
  await page.unroute(`**${plan}`);
  await minutes.fill('20');
  await expect(answer).toContainText('12 m 20 min');
  await expect(page.locator('[data-asking]')).toHaveText('');
  await context.close();
});

test('without scripts the button answers, and leads to the answer', async ({ browser }) => {
  const context = await drillWindow(browser, drill.desk, { viewport: screens.desk, javaScriptEnabled: false });
  const page = await context.newPage();
  await openPlan(page);
  await page.getByLabel('Depth 1').fill('28');
  await page.getByLabel('Minutes 1').fill('35');
  await page.getByRole('button', { name: 'Check plan' }).click();
  await expect(page).toHaveURL(/#answer$/);
  await expect(page.locator('#answer')).toContainText('Breaks a limit for');
  await expect(page.locator('#answer')).toBeInViewport();
  await expect(page.getByLabel('Minutes 1')).toHaveValue('35');
  await page.getByLabel('Depth 1').fill('500');
  await page.getByRole('button', { name: 'Check plan' }).click();
  await expect(page.locator('#depth-0-fault')).toContainText('from 1 to 120 m');
  await expect(page.getByLabel('Depth 1')).toHaveValue('500');
  await context.close();
});
