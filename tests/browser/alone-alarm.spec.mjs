// The box is killed with people under water: the alarms sound at their instants all the same, on the
// page that was open and on one that is loaded again without the box.
import { expect, test } from '@playwright/test';

import { screens, signIn } from './crew.mjs';
import { ownDrill } from './servers.mjs';
import { listenIn, running } from './sounds.mjs';

/** The drill's seconds in one of life. */
const SPEED = 12;
const DOWN = ['in-water', 'in-window', 'due', 'late', 'partner-clock', 'buoy-up'];

/** Alarms to come, by the box's last picture. @param {any} told @returns {{ group: string, at: number }[]} */
function toCome(told) {
  return Object.entries(told.groups)
    .filter(([, g]) => DOWN.includes(g.standing))
    .map(([group, g]) => ({ group, at: Math.min(...[g.deadlines.overdue, g.partner_until].filter(Boolean).map((at) => Date.parse(at))) }))
    .sort((a, b) => a.at - b.at);
}

test('with the box killed an alarm is shown and sounds within a second of its instant, also after loading the page again', async ({ browser }) => {
  const box = await ownDrill(SPEED);
  const context = await browser.newContext({ baseURL: box.url, viewport: screens.helm, hasTouch: true });
  await listenIn(context);
  const page = await context.newPage();
  await signIn(page, box.url, 'Ilka Voss', box.pin);
  const trip = /href="\/desk\/([0-9a-f-]{36})"/.exec(await (await context.request.get('/')).text())?.[1];
  await page.goto(`/helm/${trip}`);
  await expect(page.locator('html')).toHaveAttribute('data-worker', 'ready', { timeout: 20_000 });
  await page.reload();
  await expect(page.locator('html')).toHaveAttribute('data-kept', /\d+/);
  await expect(page.locator('html')).toHaveAttribute('data-goes-on', '');
  const { now, picture } = await (await context.request.get(`/api/trips/${trip}/picture`)).json();
  const [asked, boxThen] = [Date.now(), Date.parse(now)];
  const real = (/** @type {number} */ at) => asked + (at - boxThen) / SPEED;
  // Far enough that the page works alone by then, or is loaded again.
  const coming = toCome(picture).filter((one) => real(one.at) > Date.now() + 14_000);
  expect(coming.length).toBeGreaterThan(1);
  const [first, second] = /** @type {{ group: string, at: number }[]} */ ([coming[0], coming.find((one) => real(one.at) > real(coming[0]?.at ?? 0) + 8_000)]);
  box.kill();
  await page.locator('[data-sound-switch]').first().click();
  await expect(page.locator('html')).toHaveAttribute('data-sound', 'on');

  for (const [nth, alarm] of [first, second].entries()) {
    if (!alarm) throw new Error('the drill has no second alarm to come');
    await expect(page.locator('html')).toHaveAttribute('data-alone', '', { timeout: 20_000 });
    const id = `#alert-group-${alarm.group}`;
    const shown = await page.waitForFunction(
      (id) => document.querySelector(`${id}[data-alert-priority="alarm"][data-alert-state="active"]`) && Date.now(),
      id, { timeout: 120_000, polling: 50 });
    const late = Number(await shown.jsonValue()) - real(alarm.at);
    console.log(`alarm ${nth + 1} alone: ${late.toFixed(0)} ms after its instant`);
    expect(late).toBeLessThan(1_000);
    expect(late).toBeGreaterThan(-1_000);
    if (nth === 0) {
      await page.reload();
      await expect(page.locator('html')).toHaveAttribute('data-alone', '', { timeout: 20_000 });
      await expect(page.locator('.row').first()).toBeVisible();
      // A device that was armed sounds again from the first tap after a load.
      await page.locator('[data-sound-switch]').first().click();
    }
    await expect.poll(() => running(page), { timeout: 2_000 }).toBeGreaterThan(0);
  }
  await context.close();
});
