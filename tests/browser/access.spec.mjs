// Every screen of the drill for everybody: no fault by axe-core against WCAG 2.2 AA, contrast 7:1
// by day and dusk, targets large enough, no sideways scroll on a narrow phone, and no link that
// leads nowhere.
import { expect, test } from '@playwright/test';

import { everyPalette } from './axe.mjs';
import { sizes, tooWide } from './boxes.mjs';
import { drill, drillTrip, drillWindow, screens } from './crew.mjs';

/** The screens of a place are told apart by their path, whichever trip, person, entry, month or day
 * it is of.
 * @param {string} path */
const kind = (path) =>
  path
    .replace(/[0-9a-f]{8}-[0-9a-f-]{27}/g, ':id')
    .replace(/\d{4}-\d{2}(-\d{2})?/g, ':day')
    .replace(/=[^&]*/g, '=');

/** What axe-core judges a page by, but for words, figures and whose device it is: pages alike in it
 * are judged alike. Runs inside the page. */
function bones() {
  const figures = new Set(['href', 'action', 'value', 'data-device', 'data-entry']);
  const instant = /\d{4}-\d\d-\d\dT[\d:.+-]+Z?/;
  return [...document.querySelectorAll('body, body *')]
    .map((one) => {
      const attributes = [...one.attributes].filter(({ name }) => !figures.has(name));
      const said = [...one.childNodes].some((node) => node.nodeType === Node.TEXT_NODE && node.textContent?.trim());
      return [one.tagName, said, ...attributes.map(({ name, value }) => `${name}=${value.replace(instant, '')}`).sort()].join(' ');
    })
    .join('\n');
}

/**
 * Looks at one page as it stands.
 * @param {import('@playwright/test').Page} page
 * @param {string} path
 * @param {keyof typeof screens | 'none'} place
 * @param {Map<string, string>} [judged] The bones of the pages looked at before, by path: a page
 *   alike is not judged by axe-core again, another by day only, as its colours are the same.
 */
async function look(page, path, place, judged = new Map()) {
  /** @type {string[]} */
  const faults = [];
  const answer = await page.goto(path, { waitUntil: 'load' });
  if (answer?.status() !== 200) return [`answers ${answer?.status()}`];
  faults.push(...(await sizes(page, place)));
  const [was, is] = [judged.get(path), await page.evaluate(bones)];
  judged.set(path, is);
  if (was !== is) faults.push(...(await everyPalette(page, was === undefined ? undefined : ['day'])));
  const title = await page.title();
  if (!title.startsWith('DRILL')) faults.push(`the title '${title}' does not say DRILL`);
  const heads = await page.locator('h1').count();
  if (heads !== 1) faults.push(`${heads} h1`);
  return faults;
}

/** The box may close a connection just as it is used once more (RFC 9112, 9.5): a page is then asked
 * for again.
 * @param {import('@playwright/test').BrowserContext} context @param {string} path */
const get = (context, path) => context.request.get(path, { maxRetries: 2 });

/** @param {import('@playwright/test').Page} page @returns {Promise<string[]>} */
const links = (page) =>
  page.locator('a[href^="/"]').evaluateAll((all) => [...new Set(all.map((a) => String(a.getAttribute('href')).split('#')[0]))]);

/** One group of each state: what its page on board shows hangs on it.
 * @param {import('@playwright/test').Page} page @returns {Promise<string[]>} */
const states = (page) =>
  page.locator('li.row').evaluateAll((rows) => {
    const one = new Map();
    for (const row of rows) {
      const state = `${row.getAttribute('data-phase')} ${row.getAttribute('data-urgency')}`;
      one.set(state, row.querySelector('a')?.getAttribute('href'));
    }
    return [...one.values()];
  });

/** @type {{ place: keyof typeof screens, who: string, start: (trip: string) => string[] }[]} */
const places = [
  { place: 'helm', who: drill.skipper, start: (trip) => [`/helm/${trip}`] },
  { place: 'deck', who: drill.divemaster, start: (trip) => [`/deck/${trip}`] },
  { place: 'desk', who: drill.desk, start: (trip) => ['/desk', `/desk/${trip}`] },
];

test.describe.configure({ mode: 'parallel' });

for (const { place, who, start } of places) {
  test(`every ${place} screen serves everybody, by day, dusk and night, and by day without scripts`, async ({ browser }) => {
    // The longest there is: some fifty screens, most of it the work of axe-core.
    test.setTimeout(900_000);
    const context = await drillWindow(browser, who, { viewport: screens[place] });
    // Without scripts of the page's own; axe-core itself needs the engine on.
    const bare = await drillWindow(browser, who, { viewport: screens[place], reducedMotion: 'reduce' });
    await bare.route('**/*.js', (route) => route.abort());
    const [page, still] = [await context.newPage(), await bare.newPage()];
    const trip = await drillTrip(context);
    const queue = start(trip);
    /** @type {Map<string, string>} */
    const seen = new Map();
    /** @type {Map<string, string>} */
    const judged = new Map();
    const elsewhere = new Set();
    /** @type {string[]} */
    const faults = [];
    await page.goto(`/${place}/${trip}`);
    const chosen = new Set(place === 'desk' ? [] : await states(page));
    queue.push(...chosen);
    for (let path = queue.shift(); path !== undefined; path = queue.shift()) {
      const key = chosen.has(path) ? path : kind(path);
      if (seen.has(key)) continue;
      seen.set(key, path);
      const found = await look(page, path, place, judged);
      faults.push(...found.map((fault) => `${kind(path)}: ${fault}`));
      if (found[0]?.startsWith('answers')) continue;
      for (const link of await links(page)) {
        // A file to keep is no screen.
        if (link.startsWith(`/${place}`) && !/\.(geojson|gpx|csv)$/.test(link)) queue.push(link);
        else elsewhere.add(link);
      }
      await page.setViewportSize({ width: 320, height: 640 });
      const over = await page.evaluate(tooWide);
      if (over > 0) faults.push(`${kind(path)}: ${over} px too wide at 320 px`);
      await page.setViewportSize(screens[place]);
      const source = await (await get(bare, path)).text();
      if (/http-equiv="refresh"/.test(source) && (await page.locator('main :is(textarea, input:not([type="hidden"]))').count()) > 0) {
        faults.push(`${kind(path)} without scripts: loads itself again while something is being typed`);
      }
      for (const fault of await look(still, path, place, judged)) faults.push(`${kind(path)} without scripts: ${fault}`);
    }
    for (const link of elsewhere) {
      const answer = await get(context, String(link));
      if (answer.status() !== 200) faults.push(`the link ${kind(String(link))} answers ${answer.status()}`);
    }
    await context.close();
    await bare.close();
    expect([...new Set(faults)], `of ${seen.size} screens`).toEqual([]);
    expect(seen.size, 'screens found').toBeGreaterThan(8);
  });
}

test('signing in, the start and a page that is not there serve everybody', async ({ browser }) => {
  const context = await drillWindow(browser, drill.skipper, { viewport: screens.desk });
  const page = await context.newPage();
  /** @type {string[]} */
  const faults = [];
  for (const path of ['/', '/sign-in', '/enrol']) {
    faults.push(...(await look(page, path, 'none')).map((fault) => `${path}: ${fault}`));
  }
  // A form refused: the summary is there, has the focus, and the title says so first.
  await page.goto('/sign-in');
  await page.getByLabel('PIN').fill('12');
  await page.getByRole('button', { name: 'Sign in' }).click();
  await expect(page).toHaveTitle(/^Error: DRILL · /);
  await expect(page.locator('#problem')).toBeFocused();
  faults.push(...(await everyPalette(page)));
  expect((await page.goto('/not-here'))?.status()).toBe(404);
  faults.push(...(await everyPalette(page)));
  await context.close();
  expect(faults).toEqual([]);
});
