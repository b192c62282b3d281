// The drill on duty: it also watches over who watches. Alarms are answered here and nowhere else,
// so that the other drill keeps its own.
import { expect } from '@playwright/test';

import { drill, signIn } from './crew.mjs';

export const duty = {
  ...drill,
  url: process.env.DUTY_URL ?? drill.url,
  pin: process.env.DUTY_PIN ?? drill.pin,
};

export const UNANSWERED = '[data-alert-state="active"]:is([data-alert-priority="alarm"], [data-alert-priority="emergency"])';

/** @type {Map<string, Awaited<ReturnType<import('@playwright/test').BrowserContext['storageState']>>>} */
const sessions = new Map();

/**
 * A window of somebody on duty, signed in.
 * @param {import('@playwright/test').Browser} browser
 * @param {string} name
 * @param {import('@playwright/test').BrowserContextOptions} [options]
 */
export async function dutyWindow(browser, name, options = {}) {
  let state = sessions.get(name);
  if (!state) {
    const first = await browser.newContext();
    await signIn(await first.newPage(), duty.url, name, duty.pin);
    state = await first.storageState();
    sessions.set(name, state);
    await first.close();
  }
  return browser.newContext({ baseURL: duty.url, ...options, storageState: state });
}

/** @param {import('@playwright/test').BrowserContext} context */
export async function dutyTrip(context) {
  const start = await (await context.request.get('/')).text();
  const trip = /href="\/desk\/([0-9a-f-]{36})"/.exec(start)?.[1];
  if (!trip) throw new Error('the start page lists no trip');
  return trip;
}

/** Server time by the page's own clock, ms. @param {import('@playwright/test').Page} page */
export const pageTime = (page) =>
  page.evaluate(async () => {
    const app = document.querySelector('script[src*="js/app.js"]');
    const src = app instanceof HTMLScriptElement ? app.src : '';
    const { now } = await import(new URL('./clock.js', src).href);
    return now();
  });

/** Acknowledges every alarm and late group that nobody has answered.
 * @param {import('@playwright/test').Page} page @param {string} trip */
export async function answerAll(page, trip) {
  for (let n = 0; n < 20; n += 1) {
    await page.goto(`/helm/${trip}/alerts`);
    const open = page.locator('section.listed', { has: page.locator('.alert:not(.notice)[data-alert-state="active"]:not([data-alert-priority="caution"])') });
    if ((await open.count()) === 0) return;
    const id = await open.first().locator('.alert').first().getAttribute('id');
    await open.first().getByRole('button', { name: 'Acknowledge' }).click();
    await expect(page.locator(`main [id="${id}"][data-alert-state="active"]`)).toHaveCount(0);
    await page.waitForLoadState();
  }
}

/** Lets a test cut the streams of a page. @param {import('@playwright/test').BrowserContext} context */
export async function holdStreams(context) {
  await context.addInitScript(() => {
    /** @type {EventSource[]} */
    const streams = [];
    globalThis.EventSource = class extends EventSource {
      /** @param {string | URL} url @param {EventSourceInit} [init] */
      constructor(url, init) {
        super(url, init);
        streams.push(this);
      }
    };
    /** @type {any} */ (globalThis).cutStreams = () => streams.splice(0).forEach((one) => one.close());
  });
}

/** Lets a test hide a page and show it again. @param {import('@playwright/test').BrowserContext} context */
export async function holdVisibility(context) {
  await context.addInitScript(() => {
    let state = 'visible';
    Object.defineProperty(document, 'visibilityState', { get: () => state });
    Object.defineProperty(document, 'hidden', { get: () => state === 'hidden' });
    /** @type {any} */ (globalThis).setVisible = (/** @type {boolean} */ is) => {
      state = is ? 'visible' : 'hidden';
      document.dispatchEvent(new Event('visibilitychange'));
    };
  });
}
