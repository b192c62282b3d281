// Arming a screen: the tone, the question, what passed, and that the box then counts it as watching.
import { expect, test } from '@playwright/test';

import { screens } from './crew.mjs';
import { duty, dutyTrip, dutyWindow, holdVisibility } from './duty.mjs';

test.describe.configure({ mode: 'serial' });

/** @param {import('@playwright/test').BrowserContext} context */
async function notices(context) {
  const told = await (await context.request.get('/api/notices')).json();
  return told.notices;
}

test('a screen is armed once its tone was heard, and the box then knows', async ({ browser }) => {
  const context = await dutyWindow(browser, duty.skipper, { viewport: screens.helm });
  await holdVisibility(context);
  const trip = await dutyTrip(context);
  const page = await context.newPage();
  await page.goto(`/helm/${trip}/arm`);
  await expect(page.locator('[data-without-script]')).toBeHidden();
  await page.getByRole('button', { name: 'Play the tone' }).click();
  await expect(page.getByRole('group', { name: 'Did you hear it?' })).toBeVisible();
  await expect(page.locator('[data-check="sound"]')).toHaveAttribute('data-outcome', 'passed');

  await page.getByRole('button', { name: 'No', exact: true }).click();
  await expect(page.locator('#arm-verdict')).toHaveText('This screen is not armed.');
  await expect(page.locator('[data-check="heard"]')).toHaveAttribute('data-outcome', 'failed');
  // The half minute after the start of the box is over: people are out and nobody watches.
  await expect.poll(async () => Object.keys(await notices(context)), { timeout: 40_000 }).toContain('nobody-watching');

  await page.getByRole('button', { name: 'Play the tone' }).click();
  await page.getByRole('button', { name: 'Yes, heard' }).click();
  await expect(page.locator('#arm-verdict')).toHaveText('This screen is armed.');
  for (const check of ['sound', 'heard', 'clock', 'told']) {
    await expect(page.locator(`[data-check="${check}"]`), check).toHaveAttribute('data-outcome', 'passed');
  }
  // Whether a browser keeps the screen awake and the store is its own affair: it is said either way.
  for (const check of ['awake', 'kept']) {
    await expect(page.locator(`[data-check="${check}"]`), check).not.toHaveAttribute('data-outcome', 'open');
  }
  await expect.poll(async () => Object.keys(await notices(context))).not.toContain('nobody-watching');

  // Hidden, it counts no longer, and the others are told.
  await page.evaluate(() => /** @type {any} */ (globalThis).setVisible(false));
  await expect.poll(async () => Object.keys(await notices(context)), { timeout: 10_000 }).toContain('devices-hidden');
  await page.evaluate(() => /** @type {any} */ (globalThis).setVisible(true));
  await expect.poll(async () => Object.keys(await notices(context)), { timeout: 3_000 }).not.toContain('devices-hidden');
  await context.close();
});

test('without scripts the page says what cannot be and what sounds instead', async ({ browser }) => {
  const context = await dutyWindow(browser, duty.divemaster, { viewport: screens.deck, javaScriptEnabled: false });
  const page = await context.newPage();
  await page.goto(`/deck/${await dutyTrip(context)}/arm`);
  await expect(page.locator('[data-without-script]')).toContainText('the sounder of the box');
  await expect(page.getByRole('button', { name: 'Play the tone' })).toBeHidden();
  await context.close();
});
