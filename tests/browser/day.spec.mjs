// A whole day: the desk ashore, the divemaster with a phone and the skipper with a tablet, in
// three windows at once; then its core once more without scripts.
import { expect, test } from '@playwright/test';

import { box, letIn, screens, signIn, slower } from './crew.mjs';
import * as work from './work.mjs';

/**
 * @param {import('@playwright/test').Browser} browser
 * @param {{ name: string, pin: string }} who
 * @param {keyof typeof screens} place
 * @param {string | undefined} code
 * @param {boolean} [scripts]
 */
async function window(browser, who, place, code, scripts = true) {
  const context = await browser.newContext({ baseURL: box.url, viewport: screens[place], javaScriptEnabled: scripts });
  const page = await context.newPage();
  const kind = /** @type {const} */ ({ helm: 'Helm', deck: 'Deck', desk: 'Desk' })[place];
  await letIn(page, box.url, code ?? '', `${kind} of ${who.name}`, kind);
  await signIn(page, box.url, who.name, who.pin);
  return page;
}

/** Ms until a page shows something by itself.
 * @param {import('@playwright/test').Page} page @param {string} selector */
async function seen(page, selector) {
  const begun = Date.now();
  await page.waitForFunction((what) => document.querySelector(what) !== null, selector, { timeout: 2000 * slower, polling: 'raf' });
  return Date.now() - begun;
}

test.describe.configure({ mode: 'parallel' });

test('a boat day in three windows: planned, launched, dived, counted and closed with everybody', async ({ browser }) => {
  test.setTimeout(240_000);
  const desk = await window(browser, box.desk, 'desk', box.codes[0]);
  const deck = await window(browser, box.divemaster, 'deck', box.codes[1]);
  const helm = await window(browser, box.skipper, 'helm', box.codes[2]);

  await work.registerBoat(desk, 'Sable Tern');
  await work.registerSite(desk, 'Hollow Bank');
  const trip = await work.openTrip(desk, 'Sable Tern', box.skipper.name);
  for (const [line, activity] of /** @type {const} */ ([
    ['Mara Quist', 'Crew'],
    ['Oren Falk', 'Crew'],
    ['Ana Brel; autonomous diver; 20', 'Diver'],
    ['Bo Cask; autonomous diver; 20', 'Diver'],
  ])) {
    await work.addByTyping(desk, trip, line, activity);
  }

  // A file with a bad line: nothing is written, and the line is named.
  await desk.getByRole('link', { name: 'Roster from a file' }).click();
  const good = 'name;level;depth limit;activity\nCid Dorn;dive leader;30;diver\nEli Fane;autonomous diver;20;diver\n';
  await desk.getByLabel('Paste lines here').fill(`${good}Gus Hale;autonomous diver;deep;diver\n`);
  await desk.getByRole('button', { name: 'Show what would be written' }).click();
  await expect(desk.locator('#problem')).toContainText('Line 4');
  await expect(desk.getByLabel('Paste lines here')).toHaveValue(/Gus Hale/);
  await expect(desk.getByRole('button', { name: /^Add these/ })).toHaveCount(0);
  await desk.getByLabel('Paste lines here').fill(`${good}Gus Hale;;;passenger\n`);
  await desk.getByRole('button', { name: 'Show what would be written' }).click();
  await desk.getByRole('button', { name: 'Add these 3 people' }).click();
  await expect(desk.getByRole('rowheader', { name: 'Gus Hale' })).toBeVisible();
  await expect(desk.locator('#roster tbody tr')).toHaveCount(7);

  await work.planDive(desk, trip, 'Hollow Bank');
  await desk.getByRole('link', { name: 'Groups of this dive' }).click();
  await work.newGroup(desk, ['Ana Brel', 'Bo Cask']);
  await work.newGroup(desk, ['Cid Dorn', 'Eli Fane']);
  await work.saveGroups(desk, '16', '28');

  // Departure: the gate holds until the roll and two blind counts agree.
  await deck.goto(`/deck/${trip}`);
  await work.callRoll(helm, `/helm/${trip}`);
  await work.count(helm, `/helm/${trip}`, 6);
  await expect(helm.getByText('Your count is in')).toBeVisible();
  // No figure anywhere while the count is open.
  await deck.goto(`/deck/${trip}/count`);
  for (const page of [helm, deck]) await expect(page.locator('.mast .count .numeral')).toHaveCount(0);
  await desk.goto(`/desk/${trip}/roster`);
  await expect(desk.getByText('Figures are hidden while a count is open.')).toBeVisible();
  await expect(desk.getByText(/places taken/)).toHaveCount(0);
  await work.count(deck, `/deck/${trip}`, 7);
  // They differ: each counts once more, alone.
  await expect(deck.getByText(/counts differ/i).first()).toBeVisible();
  await work.count(helm, `/helm/${trip}`, 7);
  await work.count(deck, `/deck/${trip}`, 7);
  await expect(deck.getByText('Both counts and the log agree: 7 aboard.')).toBeVisible();
  await helm.goto(`/helm/${trip}/gate`);
  await helm.getByRole('button', { name: 'Depart', exact: true }).click();

  await helm.goto(`/helm/${trip}/trip`);
  await helm.getByRole('button', { name: /On site of dive 1/ }).click();
  await helm.goto(`/helm/${trip}/conditions`);
  await helm.getByRole('group', { name: 'Where the water goes' }).getByRole('radio', { name: /^East/ }).check();
  await helm.getByLabel('Drift, finer').fill('0.4');
  await helm.getByRole('button', { name: 'Log it' }).click();
  await expect(helm.locator('#problem')).toHaveCount(0);

  await work.postLookout(deck, trip, 'Gus Hale');
  const pages = await work.groupPages(deck, trip);
  expect(pages).toHaveLength(2);
  // From here the tablet is not touched: what the phone logs must come by itself.
  await helm.goto(`/helm/${trip}`);
  await expect(helm.locator('html')).toHaveAttribute('data-link', 'live');
  await helm.evaluate(() => Object.assign(globalThis, { untouched: true }));
  const [first, second] = [String(pages[0]), String(pages[1])];
  const row = (/** @type {string} */ page) => `#group-${page.split('/').at(-1)}`;

  await work.check(deck, first);
  await work.drop(deck);
  const took = [await seen(helm, `${row(first)}[data-phase="down"]`)];
  await work.check(deck, second);
  await work.drop(deck);
  took.push(await seen(helm, `${row(second)}[data-phase="down"]`));
  const out = helm.locator('.mast .count').first();
  await expect(out).toContainText('4');

  // A buoy is a buoy: nobody is counted up by it.
  await deck.goto(first);
  await deck.getByRole('button', { name: 'Orange or red' }).click();
  took.push(await seen(helm, `${row(first)}[data-phase="buoy"]`));
  await expect(out).toContainText('4');

  // One of a pair is up: the clock of the other runs.
  await deck.goto(first);
  const names = await deck.locator('#heads .check').allInnerTexts();
  const [up, partner] = [String(names[0]).split('\n')[0] ?? '', String(names[1]).split('\n')[0] ?? ''];
  await work.heads(deck, first, [up]);
  took.push(await seen(helm, `${row(first)}[data-phase="split"]`));
  await expect(helm.locator(row(first))).toContainText('partner in');
  await expect(helm.locator(row(first))).toContainText(`${up.split(' ').at(-1)} up, ${partner.split(' ').at(-1)} not`);
  await deck.locator('#word').getByText(up).click();
  await deck.getByRole('button', { name: 'Others well' }).click();
  await expect(helm.locator(row(first))).toContainText('others are well');
  console.log(`what the phone logged stood on the tablet after ${took.join(', ')} ms`);
  expect(await helm.evaluate(() => 'untouched' in globalThis), 'the tablet was not loaded again').toBe(true);

  // The wrong face: taken back, and out again by the log.
  await work.aboard(deck, first, up);
  await deck.getByRole('button', { name: 'Undo' }).click();
  await expect(deck.getByRole('button', { name: `Aboard now ${up}` })).toBeVisible();
  await work.heads(deck, first, [partner]);
  await work.aboard(deck, first, partner);
  await deck.goto(first);
  await deck.getByText('What was logged').click();
  await deck.getByRole('link', { name: new RegExp(`Take back .*${partner} aboard`) }).first().click();
  await deck.getByLabel('Reason').fill('wrong face');
  await deck.getByText('Nobody, or not sure').click();
  await deck.getByRole('button', { name: 'Take back this entry' }).click();
  await deck.goto(first);
  await expect(deck.getByRole('button', { name: `Aboard now ${partner}` })).toBeVisible();

  // The site cannot be left: people are out.
  await helm.goto(`/helm/${trip}/gate`);
  await expect(helm.getByText(/Not accounted for/)).toBeVisible();
  await expect(helm.getByRole('button', { name: 'Leave site', exact: true })).toHaveCount(0);

  await work.aboard(deck, first, up);
  await work.aboard(deck, first, partner);
  await deck.goto(second);
  const others = (await deck.locator('#heads .check').allInnerTexts()).map((text) => String(text.split('\n')[0]));
  await work.heads(deck, second, others);
  for (const name of others) await work.aboard(deck, second, name);
  await expect(deck.getByText('Everybody of this group is accounted for.')).toBeVisible();

  // Bar and depth, a group in one go.
  await deck.goto(`/deck/${trip}/returns`);
  const groups = await deck.locator('form.missing').count();
  expect(groups).toBeGreaterThan(0);
  for (let left = groups; left > 0; left -= 1) {
    const form = deck.locator('form.missing').first();
    for (const one of await form.locator('fieldset.one').all()) {
      await one.getByLabel('Bar left').fill('70');
      await one.getByLabel('Depth, m').fill('15.5');
    }
    await form.getByRole('button', { name: /^Save/ }).click();
    await expect(deck.locator('form.missing')).toHaveCount(left - 1);
  }

  await work.passGate(helm, deck, trip, 'Leave site', 7);
  await helm.goto(`/helm/${trip}/trip`);
  await helm.getByRole('button', { name: 'Back in harbour' }).click();
  await work.passGate(helm, deck, trip, 'Close trip', 7);
  await expect(helm.locator('.mast')).toContainText('Trip closed');

  await desk.goto(`/desk/${trip}/report`);
  await expect(desk.locator('.verdict')).toContainText('Everyone is accounted for');
  for (const page of [desk, deck, helm]) await page.context().close();
});

test('without scripts a day is planned, launched, dived, counted and closed', async ({ browser }) => {
  test.setTimeout(240_000);
  const deck = await window(browser, box.divemaster, 'deck', box.codes[3], false);
  const helm = await window(browser, box.skipper, 'helm', box.codes[4], false);

  // The skipper plans too.
  await work.registerBoat(helm, 'Grey Plover');
  await work.registerSite(helm, 'Outer Ledge');
  const trip = await work.openTrip(helm, 'Grey Plover', box.skipper.name);
  await work.addByTyping(helm, trip, 'Mara Quist', 'Crew');
  await work.addByTyping(helm, trip, 'Oren Falk', 'Crew');
  await work.addByTyping(helm, trip, 'Ivo Jarl; autonomous diver; 20', 'Diver');
  await work.addByTyping(helm, trip, 'Kim Loth; autonomous diver; 20', 'Diver');
  await work.planDive(helm, trip, 'Outer Ledge');
  await helm.getByRole('link', { name: 'Groups of this dive' }).click();
  await work.newGroup(helm, ['Ivo Jarl', 'Kim Loth']);
  await work.saveGroups(helm, '14', '30');

  await work.passGate(helm, deck, trip, 'Depart', 4);
  await helm.goto(`/helm/${trip}/trip`);
  await helm.getByRole('button', { name: /On site of dive 1/ }).click();
  await work.postLookout(deck, trip, 'Oren Falk');
  const [group] = await work.groupPages(deck, trip);
  await work.check(deck, String(group));
  await work.drop(deck);
  await helm.goto(`/helm/${trip}`);
  await expect(helm.locator('li.row')).toHaveAttribute('data-phase', 'down');
  await work.heads(deck, String(group), ['Ivo Jarl', 'Kim Loth']);
  await work.aboard(deck, String(group), 'Ivo Jarl');
  await work.aboard(deck, String(group), 'Kim Loth');
  await work.passGate(helm, deck, trip, 'Leave site', 4);
  await helm.goto(`/helm/${trip}/trip`);
  await helm.getByRole('button', { name: 'Back in harbour' }).click();
  await work.passGate(helm, deck, trip, 'Close trip', 4);
  await helm.goto(`/desk/${trip}/report`);
  await expect(helm.locator('.verdict')).toContainText('Everyone is accounted for');
  for (const page of [deck, helm]) await page.context().close();
});
