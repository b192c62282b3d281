// A contact is given at the desk, opened with a reason, and found in the audit; on board those
// who are missing, late or in trouble are ticked already and one tap opens them.
import { expect, test } from '@playwright/test';

import { everyPalette } from './axe.mjs';
import { sizes, tooWide } from './boxes.mjs';
import { drill, drillTrip, drillWindow, screens } from './crew.mjs';

/**
 * Looks at a page as it stands, and as a narrow phone shows it.
 * @param {import('@playwright/test').Page} page @param {keyof typeof screens} place
 */
async function looks(page, place) {
  const faults = [...(await sizes(page, place)), ...(await everyPalette(page))];
  await page.setViewportSize({ width: 320, height: 640 });
  const over = await page.evaluate(tooWide);
  if (over > 0) faults.push(`${over} px too wide at 320 px`);
  await page.setViewportSize(screens[place]);
  expect(faults, page.url()).toEqual([]);
}

/** To look at, where LOOK names a folder: choosing a palette without scripts loads the page anew,
 * so only with them.
 * @param {import('@playwright/test').Page} page @param {string} name @param {boolean} [scripts] */
async function picture(page, name, scripts = true) {
  const folder = process.env.LOOK;
  if (!folder || !scripts) return;
  for (const palette of ['Day', 'Night']) {
    await page.getByRole('button', { name: palette, exact: true }).click();
    await expect(page.locator('html')).toHaveAttribute('data-palette', palette.toLowerCase());
    await page.screenshot({ path: `${folder}/${name}-${palette.toLowerCase()}.png`, fullPage: true });
  }
}

for (const scripts of [true, false]) {
  test(`a contact is given, opened with a reason and seen in the audit, ${scripts ? 'with' : 'without'} scripts`, async ({ browser }) => {
    test.setTimeout(120_000);
    const context = await drillWindow(browser, drill.desk, { viewport: screens.desk });
    if (!scripts) await context.route('**/*.js', (route) => route.abort());
    const page = await context.newPage();
    const name = scripts ? 'Oda Ferrick' : 'Ulf Ferrick';
    await page.goto('/desk/people');
    await page.getByLabel('Name', { exact: true }).fill(name);
    await page.getByRole('button', { name: 'Add', exact: false }).last().click();
    await expect(page.getByRole('heading', { level: 1 })).toHaveText(name);
    await expect(page.getByText('No contact on record.')).toBeVisible();
    await page.getByLabel('Name of the contact').fill('Sten Ferrick');
    await page.getByLabel('What they are to the person').fill('brother');
    await page.getByLabel('Telephone').fill('+00 555 0188');
    await page.getByRole('button', { name: 'Save contact' }).click();
    await expect(page.getByText('A contact is on record, sealed.')).toBeVisible();
    await expect(page.getByText('+00 555 0188')).toHaveCount(0);
    await looks(page, 'desk');

    // Without a reason it stays sealed.
    await page.getByRole('button', { name: 'Open the contact' }).click();
    await expect(page.getByText('Say why: choose a reason or type one.').first()).toBeVisible();
    await expect(page.getByText('+00 555 0188')).toHaveCount(0);
    await looks(page, 'desk');
    await page.getByText('Rescue service asks').click();
    await picture(page, 'person', scripts);
    await page.getByRole('button', { name: 'Open the contact' }).click();
    await expect(page.getByText('+00 555 0188')).toBeVisible();
    await looks(page, 'desk');
    await page.goto('/desk/people?find=ferrick');
    await expect(page.getByRole('row', { name }).getByText('Contact given')).toBeVisible();

    await page.goto('/desk/audit');
    const row = page.locator('tr.opened').filter({ hasText: name });
    await expect(row).toContainText('Rescue service asks');
    await expect(row).toContainText(drill.desk);
    await looks(page, 'desk');
    await picture(page, 'audit', scripts);
    await page.getByLabel('About', { exact: true }).selectOption('Contact opened');
    await page.getByRole('button', { name: 'Show', exact: true }).click();
    await expect(page.locator('#audit tbody tr:not(.opened)')).toHaveCount(0);
    await expect(row).toHaveCount(1);
    const [file] = await Promise.all([page.waitForEvent('download'), page.getByRole('button', { name: 'These lines as a file' }).click()]);
    expect(file.suggestedFilename()).toBe('audit.csv');

    await page.goto('/desk/retention');
    await expect(page.getByText('Check your local code', { exact: false })).toBeVisible();
    await looks(page, 'desk');
    await picture(page, 'retention', scripts);
    await context.close();
  });
}

test('on board one tap opens the contacts of those who are missing, late or in trouble', async ({ browser }) => {
  test.setTimeout(120_000);
  const context = await drillWindow(browser, drill.skipper, { viewport: screens.helm });
  const page = await context.newPage();
  const trip = await drillTrip(context);
  await page.goto(`/helm/${trip}/handover/contacts`);
  expect(await page.locator('input[name=persons]:checked').count()).toBeGreaterThan(0);
  await looks(page, 'helm');
  await picture(page, 'helm-contacts');
  const [answer] = await Promise.all([
    page.waitForResponse((one) => one.request().method() === 'POST' && one.url().includes('/contacts')),
    page.getByRole('button', { name: 'Person missing' }).click(),
  ]);
  expect(answer.status(), await answer.text().then((text) => /<section class="problem"[\s\S]*?<\/section>/.exec(text)?.[0] ?? '', () => '')).toBe(200);
  await expect(page.getByRole('heading', { level: 1 })).toHaveText('Emergency contacts');
  await looks(page, 'helm');
  await context.close();
});
