// What every browser test needs: where the servers are, signing in, sizes of screens.
import { expect } from '@playwright/test';

/** @param {string} name */
function told(name) {
  const value = process.env[name];
  if (!value) throw new Error(`${name} is not set: the tests are started by 'cargo nextest run --run-ignored all'`);
  return value;
}

/** The drill: a trip under way with groups in every state. */
export const drill = { url: told('DRILL_URL'), pin: told('DRILL_PIN'), skipper: 'Ilka Voss', divemaster: 'Tam Orrin', desk: 'Ressa Vane' };

/** A box with accounts and nothing else, for a day from the start. */
export const box = {
  url: told('BOX_URL'),
  codes: told('BOX_CODES').split(','),
  skipper: { name: 'Mara Quist', pin: '730915' },
  divemaster: { name: 'Oren Falk', pin: '604182' },
  desk: { name: 'Lys Harrow', pin: '815037' },
};

export const screens = {
  helm: { width: 1024, height: 768 },
  deck: { width: 390, height: 844 },
  desk: { width: 1440, height: 900 },
};

/** How far beside its budget of time something may lie. Budgets hold on a quiet machine, where BUDGETS is
 * set: tests/bench/run measures them. Beside other tests a machine is several times slower, and only
 * what is wrong by far is told. */
export const slower = process.env.BUDGETS ? 1 : 4;

/**
 * Renews a page as its own script does, whether or not anything happens just now.
 * @param {import('@playwright/test').Page} page
 */
export const renew = (page) =>
  page.evaluate(async () => {
    const app = /** @type {HTMLScriptElement} */ (document.querySelector('script[src*="/js/app.js"]'));
    await (await import(new URL('./live.js', app.src).href)).renew();
  });

/**
 * Signs in; on a box the device is let in with a code first.
 * @param {import('@playwright/test').Page} page
 * @param {string} base
 * @param {string} name
 * @param {string} pin
 */
export async function signIn(page, base, name, pin) {
  await page.goto(`${base}/sign-in`);
  await page.getByLabel('Name').selectOption(name);
  await page.getByLabel('PIN').fill(pin);
  await page.getByRole('button', { name: 'Sign in' }).click();
  await expect(page).not.toHaveURL(/sign-in/);
}

/**
 * Lets a device in.
 * @param {import('@playwright/test').Page} page
 * @param {string} base
 * @param {string} code
 * @param {string} name
 * @param {'Helm' | 'Deck' | 'Desk'} kind
 */
export async function letIn(page, base, code, name, kind) {
  await page.goto(`${base}/enrol`);
  await page.getByLabel('Code').fill(code);
  await page.getByLabel('Name of this device').fill(name);
  await page.getByRole('radio', { name: new RegExp(`^${kind}`) }).check();
  await page.getByRole('button', { name: 'Let in' }).click();
  await expect(page).toHaveURL(/sign-in/);
}

/**
 * The identity of the first trip on the start page.
 * @param {import('@playwright/test').Page} page
 * @param {string} base
 */
export async function firstTrip(page, base) {
  await page.goto(`${base}/`);
  const href = await page.locator('a[href^="/desk/"]').first().getAttribute('href');
  return String(href).split('/')[2];
}

/** One session a person and worker: signing in is slow on purpose.
 * @type {Map<string, Awaited<ReturnType<import('@playwright/test').BrowserContext['storageState']>>>} */
const sessions = new Map();

/**
 * A window of somebody at the drill, signed in.
 * @param {import('@playwright/test').Browser} browser
 * @param {string} name
 * @param {import('@playwright/test').BrowserContextOptions} [options]
 */
export async function drillWindow(browser, name, options = {}) {
  let state = sessions.get(name);
  if (!state) {
    const first = await browser.newContext();
    await signIn(await first.newPage(), drill.url, name, drill.pin);
    state = await first.storageState();
    sessions.set(name, state);
    await first.close();
  }
  return browser.newContext({ baseURL: drill.url, ...options, storageState: state });
}

/**
 * The identity of the drill's trip.
 * @param {import('@playwright/test').BrowserContext} context
 */
export async function drillTrip(context) {
  const start = await (await context.request.get('/')).text();
  const trip = /href="\/desk\/([0-9a-f-]{36})"/.exec(start)?.[1];
  if (!trip) throw new Error('the start page of the drill lists no trip');
  return trip;
}
