// What must happen by itself: every screen agrees within two seconds, silence ends, a screen cut
// off says so and goes on counting, and an alarm is heard.
import { expect, test } from '@playwright/test';

import { drill, drillTrip, drillWindow, renew, screens, slower } from './crew.mjs';
import { listenIn, running } from './sounds.mjs';

test.describe.configure({ mode: 'serial' });

const UNANSWERED = '[data-alert-state="active"]:is([data-alert-priority="alarm"], [data-alert-priority="emergency"])';

/** Lets a test cut the streams of a page: being offline ends none that is open already.
 * @param {import('@playwright/test').BrowserContext} context */
async function holdStreams(context) {
  await context.addInitScript(() => {
    /** @type {EventSource[]} */
    const streams = [];
    let heard = 0;
    globalThis.EventSource = class extends EventSource {
      /** @param {string | URL} url @param {EventSourceInit} [init] */
      constructor(url, init) {
        super(url, init);
        streams.push(this);
        for (const word of ['beat', 'picture']) this.addEventListener(word, () => (heard = performance.now()));
      }
    };
    /** @type {any} */ (globalThis).cutStreams = () => streams.splice(0).forEach((one) => one.close());
    // Ms from the last word on a stream to the mark on the page, by the page's own clock.
    new MutationObserver(() => {
      const { link } = document.documentElement.dataset;
      if (link === 'stale') /** @type {any} */ (globalThis).silentFor ??= performance.now() - heard;
    }).observe(document, { subtree: true, attributes: true, attributeFilter: ['data-link'] });
  });
}

/** Ms until the page shows it, by its own frames.
 * @param {import('@playwright/test').Page} page @param {string} selector @param {number} within */
async function until(page, selector, within) {
  const begun = Date.now();
  await page.waitForFunction((what) => document.querySelector(what) !== null, selector, { timeout: within * slower, polling: 'raf' });
  return Date.now() - begun;
}

/** @type {import('@playwright/test').BrowserContext} */
let skippers;
/** @type {import('@playwright/test').BrowserContext} */
let mates;
/** @type {string} */
let trip;

test.beforeAll(async ({ browser }) => {
  skippers = await drillWindow(browser, drill.skipper, { viewport: screens.helm });
  mates = await drillWindow(browser, drill.divemaster, { viewport: screens.helm });
  await listenIn(mates);
  trip = await drillTrip(skippers);
});

test.afterAll(async () => {
  await skippers.close();
  await mates.close();
});

test('silence spreads within two seconds and ends after thirty, and so does the sound', async () => {
  const [a, b] = [await skippers.newPage(), await mates.newPage()];
  await a.goto(`/helm/${trip}/alerts`);
  await b.goto(`/helm/${trip}`);
  await b.getByRole('button', { name: 'Sound on this device' }).click();
  await expect(b.getByRole('button', { name: 'Sound is on' })).toHaveAttribute('aria-pressed', 'true');
  await expect(b.locator('html')).toHaveAttribute('data-sounding', 'alarm');
  await expect.poll(() => running(b)).toBeGreaterThan(0);

  // Every alarm nobody has answered yet is made quiet, one by one; the last starts the clock.
  const alarms = await a.locator(`main ${UNANSWERED}`).evaluateAll((all) => all.map((one) => one.id));
  expect(alarms.length, 'the drill has alarms nobody has answered').toBeGreaterThan(0);
  let quieted = Date.now();
  for (const id of alarms) {
    const section = a.locator('section.listed', { has: a.locator(`[id="${id}"]`) });
    await section.getByRole('button', { name: 'Quiet 30 s' }).click();
    // The driver waits for the page to lie still before it taps.
    quieted = Date.now();
    await expect(a.locator(`main [id="${id}"]`)).toHaveAttribute('data-alert-state', 'silenced');
  }
  const [last] = alarms.slice(-1);
  const took = await until(b, `#strip [id="${last}"][data-alert-state="silenced"]`, 2000);
  console.log(`silence on the other screen after ${took} ms`);
  // Whoever becomes late meanwhile, as the drill goes on, sounds rightly, and is made quiet too.
  await expect(async () => {
    const late = a.locator('section.listed', { has: a.locator(UNANSWERED) }).getByRole('button', { name: 'Quiet 30 s' });
    if (await late.count()) await late.first().click();
    await expect(b.locator('html')).toHaveAttribute('data-sounding', '', { timeout: 1000 });
  }).toPass({ timeout: 10_000 });
  await expect.poll(() => running(b)).toBe(0);

  await until(b, `#strip ${UNANSWERED}[id="${last}"]`, 32_000);
  const quiet = Date.now() - quieted;
  console.log(`quiet for ${quiet} ms`);
  expect(Math.abs(quiet - 30_000)).toBeLessThanOrEqual(1000 * slower);
  await expect(b.locator('html')).toHaveAttribute('data-sounding', 'alarm');
  await expect.poll(() => running(b)).toBeGreaterThan(0);
  await a.close();
  await b.close();
});

test('what one acknowledges is acknowledged for all within two seconds', async () => {
  const [a, b] = [await skippers.newPage(), await mates.newPage()];
  await b.goto(`/helm/${trip}`);
  await a.goto(`/helm/${trip}/alerts`);
  const id = String(await a.locator(`main ${UNANSWERED}`).first().getAttribute('id'));
  await expect(b.locator(`#strip [id="${id}"]`)).toHaveAttribute('data-alert-state', 'active');
  await a.locator('section.listed', { has: a.locator(`[id="${id}"]`) }).getByRole('button', { name: 'Acknowledge' }).click();
  const took = await until(b, `#strip [id="${id}"][data-alert-state="acknowledged"]`, 2000);
  console.log(`acknowledged on the other screen after ${took} ms`);
  await a.close();
  await b.close();
});

test('a screen cut off says how old it is, counts on, alarms by itself, and recovers', async ({ browser }) => {
  test.setTimeout(60_000);
  const context = await drillWindow(browser, drill.skipper, { viewport: screens.helm });
  await listenIn(context);
  await holdStreams(context);
  const page = await context.newPage();
  // The page's own clock, so that half an hour without a server need not be waited for.
  await page.clock.install();
  await page.goto(`/helm/${trip}`);
  const html = page.locator('html');
  await expect(html).toHaveAttribute('data-link', 'live');
  await page.getByRole('button', { name: 'Sound on this device' }).click();
  // A group still down and in time by what the server says.
  const row = page.locator('li.row[data-earliest]:is([data-phase="down"], [data-phase="window"])').first();
  const id = String(await row.getAttribute('id'));
  const before = String(await row.getAttribute('data-phase'));
  const group = page.locator(`[id="${id}"]`);

  await expect(html).toHaveAttribute('data-goes-on', '');
  await context.setOffline(true);
  await page.evaluate(() => /** @type {any} */ (globalThis).cutStreams());
  const stale = await until(page, 'html[data-link="stale"]', 15_000);
  const silent = await page.evaluate(() => /** @type {any} */ (globalThis).silentFor);
  console.log(`stale ${stale} ms after the cut, ${Math.round(silent)} ms after the last word`);
  expect(stale).toBeLessThanOrEqual(10_500);
  expect(silent).toBeGreaterThanOrEqual(9_990);
  expect(silent).toBeLessThanOrEqual(10_500);
  // From here on the device works alone, and says so.
  await expect(html).toHaveAttribute('data-alone', '');
  await expect(page.getByText('The box has not answered since')).toBeVisible();
  await expect(group).toHaveAttribute('data-phase', before);

  await page.clock.fastForward('02:00:00');
  await expect(group).toHaveAttribute('data-phase', 'overdue');
  await expect(group).toHaveAttribute('data-urgency', 'alarm');
  await expect(page.locator(`#alert-${id}`)).toHaveAttribute('data-alert-state', 'active');
  await expect(group.locator('[data-phase-word]')).toHaveText('Overdue');
  await expect(page.locator('#say-at-once')).not.toBeEmpty();
  await expect(html).toHaveAttribute('data-sounding', 'alarm');
  await expect.poll(() => running(page)).toBeGreaterThan(0);

  await context.setOffline(false);
  await page.clock.fastForward('00:10');
  await expect(html).toHaveAttribute('data-link', 'live', { timeout: 15_000 });
  await expect(html).not.toHaveAttribute('data-alone', '');
  await expect(group).toHaveAttribute('data-phase', before);
  await context.close();
});

/** Something on a page that the box does not know: it goes with the next renewal. @param {import('@playwright/test').Page} page */
const stray = (page) =>
  page.evaluate(() => {
    const one = document.createElement('p');
    one.id = 'stray';
    document.getElementById('main')?.prepend(one);
  });

test('nothing moves under a finger, for three seconds at most', async () => {
  const page = await mates.newPage();
  await page.goto(`/deck/${trip}`);
  await expect(page.locator('html')).toHaveAttribute('data-link', 'live');
  // Pressing takes the focus from what had it, and that ends no press.
  await page.locator('.ways a').first().focus();
  await page.mouse.move(5, 400);
  await page.mouse.down();
  // Put there under the finger: the drill itself may renew the page at any other time.
  await stray(page);
  await renew(page);
  await expect(page.locator('#stray')).toHaveCount(1);
  await page.mouse.up();
  await expect(page.locator('#stray')).toHaveCount(0);

  // What lies on the glass must not hold the page for good.
  await page.mouse.down();
  await stray(page);
  await renew(page);
  await expect(page.locator('#stray')).toHaveCount(0);
  await page.mouse.up();
  await page.close();
});

test('what answers a form stays while the rest of the page is renewed', async () => {
  const page = await skippers.newPage();
  await page.goto(`/desk/${trip}/roster/csv`);
  const lines = page.getByLabel('Paste lines here');
  const show = page.getByRole('button', { name: 'Show what would be written' });
  /** Renewed: what the box does not know is gone from the mast. */
  const anew = async () => {
    await page.evaluate(() => document.querySelector('.mast')?.setAttribute('data-stray', ''));
    await renew(page);
    await expect(page.locator('[data-stray]')).toHaveCount(0);
  };
  await lines.fill('name;activity\nJory Penn;pasenger\n');
  await show.click();
  await expect(page.locator('#problem')).toContainText('Line 2');
  await anew();
  await expect(page.locator('#problem')).toContainText('Line 2');
  await expect(lines).toHaveValue(/pasenger/);
  await lines.fill('name;activity\nJory Penn;passenger\n');
  await show.click();
  const add = page.getByRole('button', { name: /^Add th/ });
  await expect(add).toBeVisible();
  await anew();
  await expect(add).toBeVisible();

  // Refused at an address that only forms are sent to: why stays, and its alerts are renewed.
  await page.goto(`/helm/${trip}/incident`);
  // A form of the page with its tokens, sent where the trip is not yet.
  await page.evaluate((to) => {
    const tokens = /** @type {HTMLInputElement} */ (document.querySelector('main form [name="knows"]'));
    const form = /** @type {HTMLFormElement} */ (tokens.form);
    form.action = to;
    form.submit();
  }, `/helm/${trip}/in-harbour`);
  await expect(page.locator('#problem')).toBeVisible();
  await expect(page).toHaveURL(/in-harbour$/);
  const why = await page.locator('#problem').innerText();
  await anew();
  await expect(page.locator('#problem')).toHaveText(why, { useInnerText: true });
  await page.close();
});

test('an answer that comes late calls nobody back who is on the way to another page', async () => {
  const page = await mates.newPage();
  await page.goto(`/deck/${trip}/lookout`);
  await expect(page.locator('html')).toHaveAttribute('data-goes-on', '');
  await page.route(`**/deck/${trip}**`, async (route) => {
    await new Promise((wait) => setTimeout(wait, route.request().method() === 'POST' ? 500 : 2_500));
    await route.continue();
  });
  await page.getByLabel('Somebody else').fill('Jory Penn');
  const answered = page.waitForResponse((one) => one.request().method() === 'POST' && one.status() === 204);
  await page.getByRole('button', { name: 'Post', exact: true }).click();
  await Promise.all([answered, page.goto(`/deck/${trip}/returns`)]);
  await expect(page).toHaveURL(/returns$/);
  await page.close();
});
