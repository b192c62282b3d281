// The end of a day on record: the report read, signed by the divemaster and by the skipper, sealed,
// printed; an incident written at the desk after the seal; the cards of each diver.
import { expect, test } from '@playwright/test';
import { getDocument } from 'pdfjs-dist/legacy/build/pdf.mjs';

import { everyPalette } from './axe.mjs';
import { box, letIn, screens, signIn } from './crew.mjs';
import * as work from './work.mjs';

/**
 * @param {import('@playwright/test').Browser} browser
 * @param {{ name: string, pin: string }} who
 * @param {keyof typeof screens} place
 * @param {string | undefined} code
 */
async function window(browser, who, place, code) {
  const context = await browser.newContext({ baseURL: box.url, viewport: screens[place] });
  const page = await context.newPage();
  const kind = /** @type {const} */ ({ helm: 'Helm', deck: 'Deck', desk: 'Desk' })[place];
  await letIn(page, box.url, code ?? '', `${kind} of ${who.name}, records`, kind);
  await signIn(page, box.url, who.name, who.pin);
  return page;
}

/** The text of a page as it is printed, sheet by sheet.
 * @param {import('@playwright/test').Page} page */
async function printed(page) {
  const data = await page.pdf({ preferCSSPageSize: true });
  const paper = await getDocument({ data: new Uint8Array(data), verbosity: 0 }).promise;
  const sheets = [];
  for (let number = 1; number <= paper.numPages; number += 1) {
    const { items } = await (await paper.getPage(number)).getTextContent();
    sheets.push(items.map((item) => ('str' in item ? item.str : '')).join('').replace(/\s/g, ''));
  }
  return sheets;
}

/** Looks at a page by itself, if somebody wants to see it.
 * @param {import('@playwright/test').Page} page @param {string} name */
async function look(page, name) {
  const folder = process.env['LOOK'];
  if (!folder) return;
  for (const palette of ['day', 'night']) {
    await page.evaluate((set) => {
      document.documentElement.dataset['palette'] = set;
    }, palette);
    await page.screenshot({ path: `${folder}/${name}-${palette}.png`, fullPage: true });
  }
  await page.evaluate(() => {
    document.documentElement.dataset['palette'] = 'day';
  });
}

test('a day is signed by the divemaster and the skipper, sealed, printed, and noted after the seal', async ({ browser }) => {
  test.setTimeout(240_000);
  const deck = await window(browser, box.divemaster, 'deck', box.codes[6]);
  const helm = await window(browser, box.skipper, 'helm', box.codes[7]);
  const desk = await window(browser, box.desk, 'desk', box.codes[8]);

  await work.registerBoat(helm, 'Amber Knot');
  await work.registerSite(helm, 'Lantern Shelf');
  const trip = await work.openTrip(helm, 'Amber Knot', box.skipper.name);
  await work.addByTyping(helm, trip, 'Mara Quist', 'Crew');
  await work.addByTyping(helm, trip, 'Oren Falk', 'Crew');
  await work.addByTyping(helm, trip, 'Ivo Jarl; autonomous diver; 20', 'Diver');
  await work.addByTyping(helm, trip, 'Kat Lund; autonomous diver; 20', 'Diver');
  await work.planDive(helm, trip, 'Lantern Shelf');
  await helm.getByRole('link', { name: 'Groups of this dive' }).click();
  await work.newGroup(helm, ['Ivo Jarl', 'Kat Lund']);
  await work.saveGroups(helm, '15', '25');
  await work.passGate(helm, deck, trip, 'Depart', 4);
  await helm.goto(`/helm/${trip}/trip`);
  await helm.getByRole('button', { name: /On site of dive 1/ }).click();
  await work.postLookout(deck, trip, 'Mara Quist');
  const [group] = await work.groupPages(deck, trip);
  await work.check(deck, String(group));
  await work.drop(deck);

  // With people in the water nobody can sign, and the page says why.
  await helm.goto(`/desk/${trip}/report`);
  await expect(helm.locator('#cannot-sign')).toContainText(/Not accounted for: (Ivo Jarl, Kat Lund|Kat Lund, Ivo Jarl)/);
  await expect(helm.getByRole('button', { name: /^Sign as/ })).toHaveCount(0);

  await work.heads(deck, String(group), ['Ivo Jarl', 'Kat Lund']);
  for (const name of ['Ivo Jarl', 'Kat Lund']) await work.aboard(deck, String(group), name);
  await work.passGate(helm, deck, trip, 'Leave site', 4);
  await helm.goto(`/helm/${trip}/trip`);
  await helm.getByRole('button', { name: 'Back in harbour' }).click();
  await work.passGate(helm, deck, trip, 'Close trip', 4);

  // The divemaster on the phone.
  await deck.goto(`/desk/${trip}/report`);
  await expect(deck.locator('#sign-off')).toContainText('Not signed yet.');
  expect(await everyPalette(deck)).toEqual([]);
  await look(deck, 'report-deck');
  await deck.getByRole('button', { name: 'Sign as divemaster' }).click();
  await expect(deck.locator('#problem')).toContainText('Read the report');
  await deck.getByText('I have read this report').click();
  await deck.getByRole('button', { name: 'Sign as divemaster' }).click();
  await expect(deck.locator('#sign-off')).toContainText('One of two signatures is there.');

  // The skipper at the helm's tablet, and the desk, which signs nothing.
  await desk.goto(`/desk/${trip}/report`);
  await expect(desk.locator('#sign-off')).toContainText('Missing: the signature of the skipper.');
  await expect(desk.getByRole('button', { name: /^Sign as/ })).toHaveCount(0);
  await helm.goto(`/desk/${trip}/report`);
  await helm.getByText('I have read this report').click();
  await helm.getByRole('button', { name: 'Sign as skipper' }).click();
  const signOff = helm.locator('#sign-off');
  await expect(signOff).toContainText('Sealed: the divemaster and the skipper have both signed');
  await expect(signOff).toContainText(`Divemaster ${box.divemaster.name} signed`);
  await expect(signOff).toContainText(`Skipper ${box.skipper.name} signed`);
  await expect(helm.locator('.verdict')).toContainText('Everyone is accounted for');
  expect(await everyPalette(helm)).toEqual([]);

  // On paper: who signed stands there, and nothing of the screen's ways.
  await desk.goto(`/desk/${trip}/report`);
  await look(desk, 'report-sealed');
  const report = await printed(desk);
  console.log(`report: ${report.length} pages`);
  const whole = report.join('');
  for (const part of ['Sealed:', 'Divemaster' + box.divemaster.name, 'Skipper' + box.skipper.name, 'IvoJarl', 'LanternShelf', 'Everyoneisaccountedfor']) {
    expect(whole).toContain(part.replace(/\s/g, ''));
  }
  expect(whole).not.toContain('Boatsheet');
  expect(report.length).toBeLessThanOrEqual(3);

  // A late record at the desk: kept, shown after the seal, and to be signed again.
  await desk.getByRole('link', { name: 'Incident record' }).click();
  expect(await everyPalette(desk)).toEqual([]);
  await look(desk, 'incident');
  await desk.getByRole('button', { name: 'Log this record' }).click();
  await expect(desk.locator('#problem')).toContainText('Fill this in.');
  await desk.getByLabel('What happened').fill('Cut on the ladder while boarding');
  await desk.getByLabel('First of all').selectOption('somebody is hurt');
  await desk.getByRole('checkbox', { name: 'Kat Lund' }).check();
  await desk.getByLabel('What was done').fill('Cleaned and dressed');
  await desk.getByRole('button', { name: 'Log this record' }).click();
  await expect(desk.locator('#incidents')).toContainText('Cleaned and dressed');
  await expect(desk.locator('#sign-off')).toContainText('something came after the seal');
  await expect(desk.locator('#after-seal')).toContainText(`Incident: entry`);
  await look(desk, 'report-after');

  // The cards: each diver's own, and of the other only the name.
  await desk.getByRole('link', { name: /Cards of each diver/ }).click();
  await expect(desk.locator('.own-card')).toHaveCount(2);
  expect(await everyPalette(desk)).toEqual([]);
  await look(desk, 'own-dives');
  await desk.getByRole('link', { name: 'Ivo Jarl' }).click();
  await expect(desk.locator('.own-card')).toHaveCount(1);
  await expect(desk.locator('.own-card')).toContainText('with Kat Lund');
  await expect(desk.locator('.own-card')).not.toContainText('ladder');
  expect((await printed(desk)).length).toBe(1);
  for (const page of [deck, helm, desk]) await page.context().close();
});
