// Days and the season at the desk: a month with its trips, all boats of a day as they change, a
// trip copied to another day, and a season drawn and told; each with axe-core and at narrow width.
import { expect, test } from '@playwright/test';

import { everyPalette } from './axe.mjs';
import { sizes, tooWide } from './boxes.mjs';
import { box, drill, drillTrip, letIn, screens, signIn } from './crew.mjs';
import { ownDrill } from './servers.mjs';
import * as work from './work.mjs';

/** @typedef {import('@playwright/test').Page} Page */

/** @param {Page} page @param {string} path */
async function serves(page, path) {
  expect((await page.goto(path))?.status(), path).toBe(200);
  const faults = [...(await sizes(page, 'desk')), ...(await everyPalette(page))];
  await page.setViewportSize({ width: 320, height: 640 });
  const over = await page.evaluate(tooWide);
  if (over > 0) faults.push(`${over} px too wide at 320 px`);
  faults.push(...(await sizes(page, 'desk')).map((fault) => `at 320 px: ${fault}`));
  await page.setViewportSize(screens.desk);
  expect(faults, path).toEqual([]);
}

/**
 * Tells the log of a trip what a tablet would: for each group of the dive that it left the surface
 * so many minutes ago and came up so many after that.
 * @param {Page} desk @param {string} trip @param {number[]} minutes
 */
async function tell(desk, trip, minutes) {
  await desk.goto(`/desk/${trip}`);
  const status = await desk.evaluate(
    async ({ trip, minutes }) => {
      const { device, crew, crewName, role, now } = /** @type {HTMLElement} */ (document.getElementById('frame')).dataset;
      const lines = (await (await fetch(`/api/trips/${trip}/log`)).text()).trim().split('\n').map((line) => JSON.parse(line).event);
      let seq = lines.filter((event) => event.device === device).length;
      const groups = lines.filter((event) => event.kind === 'group-formed');
      const began = Date.parse(now ?? '') - 3_600_000;
      const said = [];
      for (const [nth, group] of groups.entries()) {
        const persons = group.payload.units.flat();
        const window = { earliest_s: 1680, expected_s: 2400, latest_s: 2700, overdue_s: 3000, endurance_s: 5400 };
        for (const [kind, after, payload] of /** @type {const} */ ([
          ['left-surface', 0, { window, place: null }],
          ['at-surface', minutes[nth] ?? 40, { signal: 'well', place: null, from_boat: null }],
        ])) {
          seq += 1;
          const at = new Date(began + after * 60_000).toISOString();
          const event = { id: crypto.randomUUID(), trip, about: { dive: 1, group: group.about.group, persons }, device, device_seq: seq, knows: {} };
          said.push({ ...event, by: { crew, name: crewName, role }, at, app: '0.1.0', kind, v: 1, payload });
        }
      }
      const answer = await fetch(`/api/trips/${trip}/events`, {
        method: 'POST',
        headers: { 'content-type': 'application/json' },
        body: JSON.stringify({ events: said }),
      });
      return `${answer.status} ${answer.ok ? '' : await answer.text()}`;
    },
    { trip, minutes },
  );
  expect(status).toMatch(/^200/);
}

test('a trip is planned, found in its month, copied to the next day and told in the season', async ({ browser }) => {
  test.setTimeout(240_000);
  const context = await browser.newContext({ baseURL: box.url, viewport: screens.desk });
  const desk = await context.newPage();
  await letIn(desk, box.url, box.codes[5] ?? '', `Season of ${box.desk.name}`, 'Desk');
  await signIn(desk, box.url, box.desk.name, box.desk.pin);
  await work.registerBoat(desk, 'Quill Heron');
  await work.registerSite(desk, 'Tallow Bank');
  const trip = await work.openTrip(desk, 'Quill Heron', box.skipper.name);
  for (const [line, activity] of /** @type {const} */ ([
    ['Mara Quist', 'Crew'],
    ['Ana Brel; autonomous diver; 20', 'Diver'],
    ['Bo Cask; autonomous diver; 20', 'Diver'],
    ['Cid Dorn; autonomous diver; 20', 'Diver'],
    ['Eli Fane; autonomous diver; 20', 'Diver'],
  ])) {
    await work.addByTyping(desk, trip, line, activity);
  }
  await work.planDive(desk, trip, 'Tallow Bank');
  await desk.getByRole('link', { name: 'Groups of this dive' }).click();
  await work.newGroup(desk, ['Ana Brel', 'Bo Cask']);
  await work.newGroup(desk, ['Cid Dorn', 'Eli Fane']);
  await work.saveGroups(desk, '16', '28');

  await desk.goto('/desk/month');
  const booked = desk.locator('[data-today] li').filter({ hasText: 'Quill Heron' });
  await expect(booked).toContainText('5 of 12 places taken');
  await serves(desk, desk.url());
  await desk.locator('[data-today] .month-number').click();
  await expect(desk.getByRole('heading', { level: 2, name: 'Quill Heron' })).toBeVisible();
  await serves(desk, desk.url());

  // The copy: a form by keyboard alone, refused once.
  await desk.goto(`/desk/${trip}/copy`);
  await serves(desk, desk.url());
  await desk.goto(`/desk/${trip}/copy`);
  const day = desk.getByLabel('Day', { exact: true });
  const tomorrow = await day.inputValue();
  await day.fill('2001-01-01');
  await desk.getByRole('button', { name: 'Open the copy' }).press('Enter');
  await expect(desk.locator('#problem')).toBeFocused();
  await day.fill(tomorrow);
  await desk.getByLabel('Also everybody else').focus();
  await desk.keyboard.press('Space');
  await desk.getByRole('button', { name: 'Open the copy' }).press('Enter');
  await expect(desk).toHaveURL(/\/desk\/[0-9a-f-]{36}$/);
  expect(desk.url()).not.toContain(trip);
  await expect(desk.getByText(/Ana Brel \+ Bo Cask|Bo Cask \+ Ana Brel/)).toBeVisible();
  await expect(desk.getByText('At the quay').first()).toBeVisible();

  await tell(desk, trip, [43, 47]);
  await serves(desk, '/desk/season');
  await desk.goto('/desk/season');
  // Other tests sail from the same box, to other sites.
  await desk.getByLabel('Site', { exact: true }).selectOption({ label: 'Tallow Bank' });
  await desk.getByRole('button', { name: 'Show these days' }).click();
  await expect(desk.locator('.said').first()).toContainText('1 trip, 2 group dives');
  await expect(desk.locator('circle.plot-mark')).toHaveCount(2);
  await expect(desk.locator('#late-by-site tbody tr')).toContainText('too few');
  await desk.locator('summary').click();
  await expect(desk.locator('#dives tbody tr')).toHaveCount(2);
  const [file] = await Promise.all([desk.waitForEvent('download'), desk.getByRole('link', { name: /^Dives of groups/ }).click()]);
  expect(file.suggestedFilename()).toMatch(/^season-.*-dives\.csv$/);
  // What is asked for unsoundly is named, and what was typed stands there still.
  await desk.goto('/desk/season?from=2026-06-02&to=2026-06-01');
  await expect(desk.locator('#problem')).toBeFocused();
  await expect(desk.getByLabel('First day')).toHaveValue('2026-06-02');
  await context.close();
});

test('the page of a day changes with its trips, and says so when the box falls silent', async ({ browser }) => {
  // A drill of its own: it is killed.
  const own = await ownDrill(1);
  const context = await browser.newContext({ baseURL: own.url, viewport: screens.desk });
  const page = await context.newPage();
  await signIn(page, own.url, drill.desk, own.pin);
  const trip = await drillTrip(context);
  await page.goto('/desk');
  await page.getByRole('link', { name: 'All boats of the day' }).click();
  const first = page.locator('.boat-of-day').first();
  await expect(first.locator('h2 a')).toHaveAttribute('href', `/desk/${trip}`);
  await expect(first.locator('li.row').first()).toBeVisible();
  await serves(page, page.url());
  await page.goto(page.url());
  const active = first.locator('.alert[data-alert-state="active"]');
  await expect(active.first()).toBeVisible();
  const id = String(await active.first().getAttribute('id'));
  await page.evaluate(() => Object.assign(globalThis, { untouched: true }));
  // Acknowledged on board: it comes by the stream, before the page would ask by itself.
  const aboard = await browser.newContext({ baseURL: own.url, viewport: screens.helm });
  const helm = await aboard.newPage();
  await signIn(helm, own.url, drill.skipper, own.pin);
  await helm.goto(`/helm/${trip}/alerts`);
  // Acknowledged one by one, as each tap is answered by a page anew.
  const acknowledge = helm.getByRole('button', { name: /^Acknowledge/ });
  for (let left = await acknowledge.count(); left > 0; left -= 1) {
    await acknowledge.first().click();
    await expect.poll(() => acknowledge.count()).toBeLessThan(left);
  }
  await expect(page.locator(`[id="${id}"]`)).not.toHaveAttribute('data-alert-state', 'active', { timeout: 5000 });
  expect(await page.evaluate(() => 'untouched' in globalThis)).toBe(true);
  await expect(page.locator('#day-age')).toBeHidden();
  own.kill();
  await expect(page.locator('#day-age')).toContainText(/^No word from the box\. What stands here is of \d\d:\d\d:\d\d, /, { timeout: 40_000 });
  expect(await everyPalette(page)).toEqual([]);
  await aboard.close();
  await context.close();
});
