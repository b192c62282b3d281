// The life of an alarm across devices: how it widens, covers, is answered on one and quiet on the
// others; and a device whose clock is wrong.
import { expect, test } from '@playwright/test';

import { screens, slower } from './crew.mjs';
import { UNANSWERED, answerAll, duty, dutyTrip, dutyWindow, holdStreams, holdVisibility, pageTime } from './duty.mjs';

test.describe.configure({ mode: 'serial' });

/** @param {import('@playwright/test').Page} page */
const sounds = (page) => page.locator('html').getAttribute('data-sounding');

test('what is answered on one screen is quiet on another within two seconds, and sounds on on one cut off', async ({ browser }) => {
  const a = await (await dutyWindow(browser, duty.skipper, { viewport: screens.helm })).newPage();
  const trip = await dutyTrip(a.context());
  const mates = await dutyWindow(browser, duty.divemaster, { viewport: screens.helm });
  await holdStreams(mates);
  const [b, c] = [await mates.newPage(), await (await dutyWindow(browser, duty.divemaster, { viewport: screens.helm })).newPage()];
  for (const page of [b, c]) {
    await page.goto(`/helm/${trip}/chart`);
    await page.getByRole('button', { name: /Sound/ }).click();
    await expect(page.locator('html')).toHaveAttribute('data-sounding', 'alarm');
  }
  // B is severed: nothing reaches it from here on.
  await mates.setOffline(true);
  await b.evaluate(() => /** @type {any} */ (globalThis).cutStreams());
  await answerAll(a, trip);
  const answered = Date.now();
  await expect(c.locator(`#strip .alert:not(.notice)${UNANSWERED}`)).toHaveCount(0, { timeout: 2000 * slower });
  console.log(`quiet on the other screen ${Date.now() - answered} ms after the last answer`);
  await a.waitForTimeout(3000);
  expect(await sounds(b), 'the severed one sounds on').toBe('alarm');
  for (const page of [a, b, c]) await page.context().close();
});

for (const [place, name, from, give] of /** @type {['helm' | 'deck' | 'desk', string, number, number][]} */ ([
  ['helm', duty.skipper, 0, 0],
  ['deck', duty.divemaster, 30, 2],
  ['desk', duty.desk, 120, 5],
])) {
  test(`an alarm that nobody answers sounds at the ${place} after ${from} s`, async ({ browser }) => {
    const skippers = await dutyWindow(browser, duty.skipper, { viewport: screens.helm });
    const trip = await dutyTrip(skippers);
    await answerAll(await skippers.newPage(), trip);
    const page = await (await dutyWindow(browser, name, { viewport: screens[place] })).newPage();
    await page.goto(`/${place}/${trip}`);
    await page.getByRole('button', { name: /Sound/ }).click();
    // Put beside the page, where no renewal takes it away, with its beginning so many seconds ago.
    const began = async (/** @type {number} */ agoS) => {
      const since = new Date((await pageTime(page)) - agoS * 1000).toISOString();
      await page.evaluate((at) => {
        // Alarms of the drill itself are none of this test's, also those that come meanwhile.
        const bare = () => document.querySelectorAll('#frame [data-alert-state]').forEach((one) => one.removeAttribute('data-alert-state'));
        bare();
        /** @type {any} */ (globalThis).bareing ??= new MutationObserver(bare);
        /** @type {any} */ (globalThis).bareing.observe(document.body, { subtree: true, childList: true, attributes: true, attributeFilter: ['data-alert-state'] });
        document.getElementById('put')?.remove();
        const one = document.createElement('p');
        one.id = 'put';
        Object.assign(one.dataset, { alertState: 'active', alertPriority: 'alarm', alertSince: at });
        document.body.append(one);
      }, since);
      await page.waitForTimeout(700);
    };
    // It has begun 0.7 s more by the time that is looked at. An alarm of the drill that a renewal
    // brings may sound for a moment before it is bared; one that is put here would go on.
    if (from > 0) {
      await began(from - give - 1);
      await expect.poll(() => sounds(page), { message: 'too early', timeout: 1_200 }).toBe('');
    }
    await began(Math.max(0, from + give - 1));
    await expect.poll(() => sounds(page), { timeout: 1_500 * slower }).toBe('alarm');
    await page.context().close();
    await skippers.close();
  });
}

test('an alarm that nobody answers covers the helm after fifteen seconds and flashes once a second', async ({ browser }) => {
  const context = await dutyWindow(browser, duty.skipper, { viewport: screens.helm });
  const trip = await dutyTrip(context);
  const page = await context.newPage();
  await answerAll(page, trip);
  await page.goto(`/helm/${trip}`);
  await expect(page.locator('#cover')).toHaveCount(0);
  // Somebody is declared missing: an alarm that begins now.
  const other = await context.newPage();
  await other.goto(`/helm/${trip}/emergency`);
  await other.locator('input[name="persons"]').first().check();
  await other.locator('form[action$="/emergency/missing"] button').last().click();
  await other.waitForLoadState();
  const cover = page.locator('#cover');
  await expect(cover).toHaveCount(1);
  await expect(cover).toBeHidden();
  const since = Date.parse(String(await cover.getAttribute('data-since')));
  await expect(cover).toBeVisible({ timeout: 17_000 });
  const after = (await pageTime(page)) - since;
  console.log(`covered ${after} ms after it began`);
  expect(after).toBeGreaterThanOrEqual(15_000);
  expect(after).toBeLessThanOrEqual(16_000);

  const flash = await page.locator(`#strip .alert:not(.notice)${UNANSWERED}`).first().evaluate((one) => {
    const style = getComputedStyle(one);
    return { length: style.animationDuration, name: style.animationName };
  });
  expect(flash).toEqual({ length: '1s', name: 'lit' });
  await page.emulateMedia({ reducedMotion: 'reduce' });
  const still = await page.locator(`#strip .alert:not(.notice)${UNANSWERED}`).first().evaluate((one) => getComputedStyle(one).animationName);
  expect(still).toBe('none');
  await expect(page.locator(`#strip .alert:not(.notice)${UNANSWERED} .alert-state`).first()).toContainText('Unacknowledged');

  await cover.getByRole('button', { name: 'Acknowledge' }).click();
  // The answer leads to the list of alerts.
  await page.waitForURL(/\/alerts/);
  // The drill goes on, and others of its alarms may have come meanwhile.
  await answerAll(page, trip);
  await page.goto(`/helm/${trip}`);
  await expect(page.locator('#cover')).toHaveCount(0);
  await context.close();
});

for (const minutes of [10, -10]) {
  test(`a device whose clock is off by ${minutes} min counts as the box does and says so`, async ({ browser }) => {
    const context = await dutyWindow(browser, duty.divemaster, { viewport: screens.deck });
    await context.addInitScript((shift) => {
      const Real = Date;
      globalThis.Date = /** @type {any} */ (
        class extends Real {
          /** @param {any[]} given */
          constructor(...given) {
            // @ts-ignore: as many arguments as Date takes
            super(...(given.length > 0 ? given : [Real.now() + shift]));
          }
          static now() {
            return Real.now() + shift;
          }
        }
      );
    }, minutes * 60_000);
    const page = await context.newPage();
    await page.goto(`/deck/${await dutyTrip(context)}`);
    await expect(page.locator('#own-clock')).toBeVisible();
    await expect(page.locator('#own-clock')).toContainText(minutes > 0 ? '10 min ahead' : '10 min behind');
    const box = await page.evaluate(async () => {
      const asked = performance.now();
      const { now } = await (await fetch('/api/health')).json();
      return { now, half: (performance.now() - asked) / 2 };
    });
    const apart = (await pageTime(page)) - Date.parse(box.now) - box.half;
    console.log(`the page is ${Math.round(apart)} ms from the box`);
    expect(Math.abs(apart)).toBeLessThanOrEqual(1000);
    await context.close();
  });
}

test('what became an alarm while the screen slept is listed within a second of looking again', async ({ browser }) => {
  const context = await dutyWindow(browser, duty.skipper, { viewport: screens.helm });
  await holdVisibility(context);
  const trip = await dutyTrip(context);
  const page = await context.newPage();
  await page.clock.install();
  await page.goto(`/deck/${trip}`);
  await expect(page.locator('html')).toHaveAttribute('data-link', 'live');
  await page.evaluate(() => /** @type {any} */ (globalThis).setVisible(false));
  // Somebody else says meanwhile that help is needed.
  const other = await context.newPage();
  await other.goto(`/helm/${trip}/emergency`);
  await other.getByRole('button', { name: /hurt|injur/i }).first().click();
  await other.waitForLoadState();
  await page.clock.fastForward('06:00');
  const seen = await page.evaluate(
    () =>
      new Promise((done) => {
        const place = /** @type {HTMLElement} */ (document.getElementById('slept'));
        const begun = performance.now();
        const look = () => (!place.hidden && place.querySelector('li') ? done(performance.now() - begun) : performance.now() - begun > 5000 ? done(-1) : requestAnimationFrame(look));
        /** @type {any} */ (globalThis).setVisible(true);
        look();
      }),
  );
  console.log(`the list of what was missed stands after ${Math.round(Number(seen))} ms`);
  expect(seen).toBeGreaterThanOrEqual(0);
  expect(seen).toBeLessThanOrEqual(1000);
  await page.getByRole('button', { name: 'Seen' }).click();
  await expect(page.locator('#slept')).toBeHidden();
  await context.close();
});
