// The work of a day, one function for each thing somebody does, by what stands on the screen.
import { expect } from '@playwright/test';

/** @typedef {import('@playwright/test').Page} Page */

/** A place where the sun stands high at this hour, so that no dive of the tests ends at night.
 * @param {Date} now */
export function noonAt(now) {
  const hours = now.getUTCHours() + now.getUTCMinutes() / 60;
  return ((12 - hours) * 15).toFixed(4);
}

/** @param {Page} desk @param {string} name */
export async function registerBoat(desk, name) {
  await desk.goto('/desk/boats');
  await desk.getByRole('link', { name: 'New boat' }).click();
  await desk.getByLabel('Name', { exact: true }).fill(name);
  await desk.getByLabel('Call sign', { exact: true }).fill('XQ7T');
  await desk.getByLabel('Carries').fill('12');
  await desk.getByLabel('Speed between groups').fill('6');
  await desk.getByLabel('Time to board one person').fill('45');
  await desk.getByLabel('Time to set up an approach').fill('60');
  await desk.getByLabel('Emergency plan').fill('Recall all\nCall on channel 16\nOxygen and blanket');
  await desk.getByRole('button', { name: 'Save' }).click();
  await expect(desk.getByText(name).first()).toBeVisible();
}

/** @param {Page} desk @param {string} name */
export async function registerSite(desk, name) {
  await desk.goto('/desk/sites');
  await desk.getByRole('link', { name: 'New site' }).click();
  await desk.getByLabel('Name', { exact: true }).fill(name);
  await desk.getByLabel('Latitude').fill('2.5');
  await desk.getByLabel('Longitude').fill(noonAt(new Date()));
  await desk.getByLabel('Distance kept').fill('30');
  await desk.getByLabel('Time zone').fill('Etc/UTC');
  await desk.getByRole('button', { name: 'Save' }).click();
  await expect(desk.getByText(name).first()).toBeVisible();
}

/** @param {Page} desk @param {string} boat @param {string} skipper @returns {Promise<string>} the trip's identity */
export async function openTrip(desk, boat, skipper) {
  await desk.goto('/desk/new');
  await desk.getByLabel('Boat', { exact: true }).selectOption(boat);
  await desk.getByLabel('Skipper', { exact: true }).selectOption(skipper);
  await desk.getByLabel('Harbour').fill('Cinder Quay');
  await desk.getByLabel('Day', { exact: true }).fill(new Date().toISOString().slice(0, 10));
  await desk.getByLabel('Time zone').fill('Etc/UTC');
  await desk.getByRole('button', { name: 'Open trip' }).click();
  await expect(desk).toHaveURL(/\/desk\/[0-9a-f-]{36}/);
  return desk.url().split('/')[4] ?? '';
}

/** @param {Page} desk @param {string} trip @param {string} line @param {string} activity */
export async function addByTyping(desk, trip, line, activity) {
  await desk.goto(`/desk/${trip}/roster`);
  await desk.getByLabel('Name; level; depth limit').fill(line);
  await desk.getByLabel('On this trip').first().selectOption(activity);
  await desk.getByRole('button', { name: 'Add to roster' }).click();
  await expect(desk.getByRole('rowheader', { name: line.split(';')[0] ?? line })).toBeVisible();
}

/** @param {Page} desk @param {string} trip @param {string} site */
export async function planDive(desk, trip, site) {
  await desk.goto(`/desk/${trip}`);
  await desk.getByLabel('Site', { exact: true }).selectOption(site);
  await desk.getByRole('button', { name: 'Plan this dive' }).click();
  await expect(desk.getByRole('heading', { name: `Dive 1: ${site}` })).toBeVisible();
}

/** Puts people who are in no group into a new one.
 * @param {Page} desk @param {string[]} people */
export async function newGroup(desk, people) {
  for (const name of people) await desk.getByRole('checkbox', { name }).check();
  await desk.getByRole('button', { name: 'To a new group' }).click();
  for (const name of people) await expect(desk.getByRole('group', { name: /· new/ }).filter({ hasText: name })).toBeVisible();
}

/** @param {Page} desk @param {string} depth @param {string} minutes */
export async function saveGroups(desk, depth, minutes) {
  await desk.getByLabel('Depth', { exact: true }).fill(depth);
  await desk.getByLabel('Minutes', { exact: true }).fill(minutes);
  await desk.getByRole('button', { name: 'Save groups' }).click();
  await expect(desk.getByText('Changed here, not saved yet.')).toHaveCount(0);
  await expect(desk.locator('#problem')).toHaveCount(0);
}

/** Calls everybody by name, each tapped.
 * @param {Page} page @param {string} place */
export async function callRoll(page, place) {
  await page.goto(`${place}/roll`);
  for (const row of await page.locator('fieldset.called').all()) await row.getByText('Seen', { exact: true }).click();
  await page.getByRole('button', { name: 'Log the roll' }).click();
  await expect(page).toHaveURL(/\/gate/);
}

/** One blind count.
 * @param {Page} page @param {string} place @param {number} people */
export async function count(page, place, people) {
  await page.goto(`${place}/count?again=1`);
  await page.getByLabel('People aboard').fill(String(people));
  await page.getByRole('button', { name: 'Log my count' }).click();
}

/** Goes through a gate: it must be closed before the roll and both counts, and open after.
 * @param {Page} helm @param {Page} deck @param {string} trip @param {string} act @param {number} people */
export async function passGate(helm, deck, trip, act, people) {
  await helm.goto(`/helm/${trip}/gate`);
  await expect(helm.getByRole('heading', { level: 1 })).toHaveText(act);
  await expect(helm.getByRole('button', { name: act, exact: true })).toHaveCount(0);
  await callRoll(helm, `/helm/${trip}`);
  await count(helm, `/helm/${trip}`, people);
  await expect(helm.getByText('Your count is in')).toBeVisible();
  await helm.goto(`/helm/${trip}/gate`);
  await expect(helm.getByRole('button', { name: act, exact: true })).toHaveCount(0);
  await count(deck, `/deck/${trip}`, people);
  await expect(deck.getByText(`Both counts and the log agree: ${people} aboard.`)).toBeVisible();
  await helm.goto(`/helm/${trip}/gate`);
  await helm.getByRole('button', { name: act, exact: true }).click();
  await expect(helm).toHaveURL(new RegExp(`/helm/${trip}$`));
}

/** @param {Page} deck @param {string} trip @param {string} name */
export async function postLookout(deck, trip, name) {
  await deck.goto(`/deck/${trip}/lookout`);
  await deck.getByLabel('Somebody else').fill(name);
  await deck.getByRole('button', { name: 'Post', exact: true }).click();
  await expect(deck.locator('.keeper')).toContainText(name);
}

/** @param {Page} deck @param {string} group address */
export async function check(deck, group) {
  await deck.goto(group);
  await deck.getByText('Engine in neutral').click();
  await deck.getByText('Flag A shown').click();
  await deck.getByRole('button', { name: 'Checks done' }).click();
  await expect(deck.getByRole('button', { name: 'Left surface' })).toBeVisible();
}

/** @param {Page} deck */
export async function drop(deck) {
  await deck.getByRole('button', { name: 'Left surface' }).click();
  await expect(deck.getByText('Who is seen at the surface?')).toBeVisible();
}

/** Heads at the surface, each face ticked.
 * @param {Page} deck @param {string} group address @param {string[]} names */
export async function heads(deck, group, names) {
  await deck.goto(group);
  for (const name of names) await deck.locator('#heads').getByText(name).click();
  await deck.getByRole('button', { name: 'All well' }).click();
  await expect(deck.locator('.undo')).toContainText('At surface, all well');
}

/** @param {Page} deck @param {string} group address @param {string} name */
export async function aboard(deck, group, name) {
  await deck.goto(group);
  await deck.getByRole('button', { name: `Aboard now ${name}` }).click();
  await expect(deck.locator('.undo')).toContainText(`${name} aboard`);
}

/** The groups of the deck by the name of their letter.
 * @param {Page} deck @param {string} trip @returns {Promise<string[]>} addresses */
export async function groupPages(deck, trip) {
  await deck.goto(`/deck/${trip}`);
  const all = await deck.locator('li.row a').evaluateAll((links) => links.map((a) => String(a.getAttribute('href'))));
  return [...new Set(all)];
}
