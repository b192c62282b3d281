// What is done ashore on a box that has nothing yet: the first start behind its code, people with a
// guardian's consent, a double merged, equipment and cylinders, a full boat with a waiting list, a
// signed analysis, go or no go at the helm; each page with axe-core, and once more in German.
import { mkdtempSync, rmSync } from 'node:fs';
import { createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

import { expect, test } from '@playwright/test';

import { everyPalette } from './axe.mjs';
import { sizes, tooWide } from './boxes.mjs';
import { screens } from './crew.mjs';
import { emptyBox } from './servers.mjs';
import * as work from './work.mjs';

/** @typedef {import('@playwright/test').Page} Page */

/** A port that was free a moment ago: a box must know its own origin before it listens.
 * @returns {Promise<number>} */
const freePort = () =>
  new Promise((done, failed) => {
    const server = createServer();
    server.once('error', failed);
    server.listen(0, '127.0.0.1', () => {
      const address = server.address();
      server.close(() => (address && typeof address === 'object' ? done(address.port) : failed(new Error('no port'))));
    });
  });

/** @param {Page} page @param {string} path @param {'desk' | 'helm' | 'none'} place */
async function serves(page, path, place = 'desk') {
  expect((await page.goto(path))?.status(), path).toBe(200);
  await stands(page, place);
}

/** @param {Page} page @param {'desk' | 'helm' | 'none'} place */
async function stands(page, place = 'desk') {
  const faults = [...(await sizes(page, place)), ...(await everyPalette(page, ['day']))];
  const size = page.viewportSize() ?? screens.desk;
  await page.setViewportSize({ width: 320, height: 640 });
  const over = await page.evaluate(tooWide);
  if (over > 0) faults.push(`${over} px too wide at 320 px`);
  await page.setViewportSize(size);
  expect(faults, page.url()).toEqual([]);
}

/** Sends a form, and waits until it was answered: going on at once would take it back.
 * @param {Page} page @param {import('@playwright/test').Locator} button */
async function send(page, button) {
  await Promise.all([page.waitForResponse((answer) => answer.request().method() === 'POST'), button.click()]);
  await page.waitForLoadState();
}

/** @param {Page} page @param {string} name */
const press = (page, name) => send(page, page.getByRole('button', { name, exact: true }).first());

/** @param {Page} page @param {Record<string, string>} fields by the identity of each field */
async function fill(page, fields) {
  for (const [id, value] of Object.entries(fields)) await page.locator(`#${id}`).fill(value);
}

test('a box is set up and a boat made ready ashore, refused where it must be', async ({ browser }) => {
  test.setTimeout(300_000);
  const folder = mkdtempSync(join(tmpdir(), 'deckwatch-'));
  const fresh = await emptyBox(folder, await freePort());
  const context = await browser.newContext({ baseURL: fresh.url, viewport: screens.desk, locale: 'en-GB' });
  try {
    const page = await context.newPage();
    await serves(page, '/set-up', 'none');
    await fill(page, { code: '00000000', centre: 'Lantern Reef Diving', place: 'Cinder Quay', jurisdiction: 'Callow Islands' });
    await fill(page, { boat: 'Quill Heron', capacity: '3', plan: 'Recall all', owner: 'Oda Frei', device: 'Computer in the shop' });
    await fill(page, { pin: '385016' });
    for (const role of ['Skipper', 'Divemaster', 'Desk']) await page.getByRole('checkbox', { name: role }).check();
    await page.getByRole('radio', { name: /^Desk/ }).check();
    await page.locator('#time_zone').selectOption('Etc/UTC');
    await press(page, 'Set up');
    await expect(page.locator('#problem')).toBeFocused();
    await expect(page.locator('#centre')).toHaveValue('Lantern Reef Diving');
    await stands(page, 'none');
    await fill(page, { code: fresh.code, pin: '385016' });
    await press(page, 'Set up');
    await expect(page).not.toHaveURL(/set-up/);

    // People: a level chosen from the standard's, a minor with consent, one person entered twice.
    const people = [
      ['Ana Brel', 'autonomous diver', '20', ''],
      ['Ana Brél', 'autonomous diver', '20', ''],
      ['Bo Cask', 'supervised diver', '12', `${new Date().getUTCFullYear() - 14}-01-01`],
    ];
    for (const [name, level, limit, born] of people) {
      await page.goto('/desk/people');
      expect(await page.locator('#levels option').count()).toBe(6);
      await fill(page, { name: name ?? '', level: level ?? '', limit: limit ?? '', born: born ?? '' });
      await press(page, 'Add person');
    }
    await serves(page, '/desk/people/minors');
    await page.goto('/desk/people');
    await page.getByRole('link', { name: 'Bo Cask' }).click();
    const day = new Date().toISOString().slice(0, 10);
    await fill(page, { guardian: 'Lale Cask', given_on: day, until: day, seen_by: '' });
    await press(page, 'Write the consent');
    await expect(page.locator('#problem')).toBeFocused();
    await fill(page, { seen_by: 'Oda Frei' });
    await press(page, 'Write the consent');
    await expect(page.locator('#consents')).toContainText('Lale Cask');
    await stands(page);
    await serves(page, '/desk/people/doubles');
    await page.locator('#doubles a').first().click();
    await stands(page);
    await page.getByRole('radio', { name: /Ana Brel/ }).check();
    await page.locator('#sure').check();
    await press(page, 'Merge');
    await serves(page, '/desk/people/doubles');
    await expect(page.locator('#doubles')).toHaveCount(0);

    // Equipment and cylinders.
    await page.goto('/desk/boats');
    const boat = String(await page.getByRole('link', { name: 'Quill Heron' }).getAttribute('href'));
    await page.goto(`${boat}/equipment`);
    await press(page, 'Add what is missing of these');
    const due = page.locator('#equipment input[type="date"]').first();
    await due.fill(`${new Date().getUTCFullYear() + 1}-01-01`);
    await send(page, page.locator('#equipment').getByRole('button', { name: /^Looked at/ }).first());
    await expect(page.locator('#equipment')).toContainText('Oda Frei');
    await stands(page);
    await serves(page, '/desk/cylinders');
    await fill(page, { marking: '7', litres: '12' });
    await press(page, 'Add cylinder');
    await page.getByRole('link', { name: '7', exact: true }).click();
    await fill(page, { oxygen: '32', bar: '210' });
    await press(page, 'Filled now');
    await expect(page.locator('#content')).toContainText('32.0 % oxygen');
    await stands(page);

    // A trip with more who want to come than she carries.
    await work.registerSite(page, 'Tallow Bank');
    const trip = await work.openTrip(page, 'Quill Heron', 'Oda Frei');
    await work.addByTyping(page, trip, 'Oda Frei', 'Crew');
    await page.goto(`/desk/${trip}/roster?find=a`);
    for (const name of ['Ana Brel', 'Bo Cask']) {
      await page.goto(`/desk/${trip}/roster?find=${name.slice(0, 3)}`);
      await send(page, page.getByRole('button', { name: `Add ${name}` }));
    }
    await page.getByLabel('Name; level; depth limit').fill('Cid Dorn; autonomous diver; 20');
    await press(page, 'Put on the waiting list');
    await expect(page.locator('#waiting')).toContainText('Cid Dorn');
    await stands(page);
    await work.planDive(page, trip, 'Tallow Bank');
    await page.getByRole('link', { name: 'Groups of this dive' }).click();
    await work.newGroup(page, ['Ana Brel', 'Bo Cask']);
    await work.saveGroups(page, '10', '28');

    // Its plan in feet, with longer figures in the same fields; then back.
    const plan = await page.locator('a[href*="/plan/"]').first().getAttribute('href');
    for (const [units, cylinder] of [['imperial', /@ 3000$/], ['metric', /^12$/]]) {
      await page.goto('/desk/units');
      await page.locator(`input[name="units"][value="${units}"]`).check();
      await press(page, 'Save the units');
      await serves(page, String(plan));
      await expect(page.locator('[name^="cylinder-"]').first()).toHaveValue(/** @type {RegExp} */ (cylinder));
    }

    // An analysis, signed with another name first.
    await page.goto(`/desk/${trip}/gas`);
    await page.locator('#diver').selectOption({ label: 'Ana Brel' });
    await page.locator('#cylinder').selectOption({ label: '7, 12 l' });
    await fill(page, { oxygen: '31.6', bar: '208', signature: 'Bo Cask' });
    await press(page, 'Sign analysis');
    await expect(page.locator('#problem')).toBeFocused();
    await fill(page, { signature: 'Ana Brel' });
    await press(page, 'Sign analysis');
    await expect(page.locator('#analyses')).toContainText('31.6 % oxygen');
    await expect(page.locator('#gas')).toContainText('Not the gas planned');
    await stands(page);

    // Go or no go, at the helm.
    await page.setViewportSize(screens.helm);
    await serves(page, `/helm/${trip}/gate`, 'helm');
    await expect(page.locator('#register')).toContainText('Ana Brel');
    await serves(page, `/helm/${trip}/go-list`, 'helm');
    await page.getByRole('radio', { name: 'No go', exact: true }).first().check();
    await send(page, page.locator('main form').first().getByRole('button').last());
    await serves(page, `/helm/${trip}/go-list/decide`, 'helm');
    await page.getByRole('radio', { name: 'No go', exact: true }).check();
    await fill(page, { reason: 'Too much wind for the quay' });
    await send(page, page.locator('.sending').getByRole('button').last());
    await expect(page).toHaveURL(/go-list$/);
    await expect(page.locator('main')).toContainText('Too much wind for the quay');

    // The same in German: as wide, as well told, and nothing of it in the other language.
    await page.goto('/');
    await press(page, 'Deutsch');
    for (const path of [`/helm/${trip}`, `/helm/${trip}/gate`, `/helm/${trip}/go-list`, `/helm/${trip}/count`]) {
      await serves(page, path, 'helm');
    }
    await page.setViewportSize(screens.desk);
    for (const path of ['', '/people', '/people/minors', '/cylinders', '/crew', `/${trip}`, `/${trip}/roster`, `/${trip}/gas`, `/${trip}/go-list`, `/${trip}/report`]) {
      await serves(page, `/desk${path}`);
      await expect(page.locator('html')).toHaveAttribute('lang', 'de');
    }
  } finally {
    await context.close();
    fresh.kill();
    rmSync(folder, { recursive: true, force: true });
  }
});
