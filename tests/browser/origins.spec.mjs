// How the box is reached: over https by an authority of its own, which Chromium itself is given
// and holds to its constraints, and over the plain twin at the bare address, where trip acts go
// on without scripts, by keyboard and on a narrow phone.
import { execFileSync } from 'node:child_process';
import { X509Certificate, createHash } from 'node:crypto';
import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import https from 'node:https';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

import { chromium, expect, test } from '@playwright/test';

import { everyPalette } from './axe.mjs';
import { network } from './between.mjs';
import { tooWide } from './boxes.mjs';
import { box, letIn, screens, signIn } from './crew.mjs';
import * as work from './work.mjs';

/** @param {string} name */
function told(name) {
  const value = process.env[name];
  if (!value) throw new Error(`${name} is not set: the tests are started by 'cargo nextest run --run-ignored all'`);
  return value;
}

const secure = told('REACH_HTTPS');
const plain = told('REACH_PLAIN');
const codes = told('REACH_CODES').split(',');
const folder = told('REACH_CERTIFICATES');
const authority = join(folder, 'authority.pem');

test.describe.configure({ mode: 'serial' });

/** @type {string} */
let home;
/** @type {import('@playwright/test').Browser} */
let browser;
/** @type {import('@playwright/test').Browser} */
let stranger;
/** @type {string} */
let trip;

/** Gives a browser of its own home an authority to trust. Where there is no certutil, the key of
 * the served certificate is let through instead, and the constraints stay unproven here.
 * @returns {{ env: Record<string, string>, args: string[], byAuthority: boolean }} */
function trusting() {
  const env = { .../** @type {Record<string, string>} */ (process.env), HOME: home };
  const db = join(home, '.pki', 'nssdb');
  mkdirSync(db, { recursive: true });
  try {
    execFileSync('certutil', ['-d', `sql:${db}`, '-N', '--empty-password']);
  } catch (cause) {
    if (/** @type {{ code?: string }} */ (cause).code !== 'ENOENT') throw cause;
    const key = new X509Certificate(readFileSync(join(folder, 'certificate.pem'))).publicKey;
    const hash = createHash('sha256').update(key.export({ type: 'spki', format: 'der' })).digest('base64');
    return { env, args: [`--ignore-certificate-errors-spki-list=${hash}`], byAuthority: false };
  }
  execFileSync('certutil', ['-d', `sql:${db}`, '-A', '-n', 'boat', '-t', 'C,,', '-i', authority]);
  return { env, args: [], byAuthority: true };
}

/** @type {boolean} */
let byAuthority;
/** @type {import('@playwright/test').LaunchOptions} */
let launch;
/** @type {Record<string, string>} */
let trusted;
const NAMES = '--host-resolver-rules=MAP *.deckwatch.test 127.0.0.1';

test.beforeAll(async ({}, info) => {
  home = mkdtempSync(join(tmpdir(), 'home-'));
  const options = info.project.use.launchOptions ?? {};
  launch = options;
  const trust = trusting();
  byAuthority = trust.byAuthority;
  trusted = trust.env;
  console.log(byAuthority ? 'Chromium trusts the authority by its NSS database' : 'no certutil: Chromium lets the key of the certificate through');
  browser = await chromium.launch({ ...options, env: trust.env, args: [...(options.args ?? []), NAMES, ...trust.args] });
  stranger = await chromium.launch({ ...options, args: [...(options.args ?? []), NAMES] });
});

test.afterAll(async () => {
  await browser?.close();
  await stranger?.close();
  rmSync(home, { recursive: true, force: true });
});

/**
 * Somebody's device, let in and signed in at one of the two addresses.
 * @param {string} base
 * @param {{ name: string, pin: string }} who
 * @param {'Helm' | 'Deck' | 'Desk'} kind
 * @param {string | undefined} code
 * @param {import('@playwright/test').BrowserContextOptions} [options]
 */
async function device(base, who, kind, code, options = {}) {
  const context = await browser.newContext({ baseURL: base, ...options });
  const page = await context.newPage();
  await letIn(page, base, code ?? '', `${kind} of ${who.name} at ${base}`, kind);
  await signIn(page, base, who.name, who.pin);
  return page;
}

test('over https by the authority a page is secure and may keep itself', async () => {
  test.setTimeout(240_000);
  const desk = await device(secure, box.desk, 'Desk', codes[0], { viewport: screens.desk });
  expect(await desk.evaluate(() => isSecureContext)).toBe(true);
  await expect(desk.locator('.basic-word')).toHaveCount(0);
  const cookies = await desk.context().cookies();
  for (const name of ['__Host-deckwatch-device', '__Host-deckwatch-session']) {
    const kept = cookies.find((one) => one.name === name);
    expect(kept, name).toMatchObject({ secure: true, httpOnly: true, sameSite: 'Strict' });
  }
  // Chromium takes a service worker only from an origin it trusts.
  await expect(desk.locator('html')).toHaveAttribute('data-worker', 'ready');

  // The desk's work is done here; the crew goes on over the twin.
  await work.registerBoat(desk, 'Dun Petrel');
  await work.registerSite(desk, 'Lantern Shoal');
  trip = await work.openTrip(desk, 'Dun Petrel', box.skipper.name);
  for (const [line, activity] of /** @type {const} */ ([
    ['Mara Quist', 'Crew'],
    ['Oren Falk', 'Crew'],
    ['Ana Brel; autonomous diver; 20', 'Diver'],
    ['Bo Cask; autonomous diver; 20', 'Diver'],
    ['Cid Dorn; autonomous diver; 20', 'Diver'],
    ['Eli Fane; autonomous diver; 20', 'Diver'],
  ])) {
    await work.addByTyping(desk, trip, line, activity);
  }
  await work.planDive(desk, trip, 'Lantern Shoal');
  await desk.getByRole('link', { name: 'Groups of this dive' }).click();
  await work.newGroup(desk, ['Ana Brel', 'Bo Cask']);
  await work.newGroup(desk, ['Cid Dorn', 'Eli Fane']);
  await work.saveGroups(desk, '14', '30');
  await desk.context().close();
});

test('who was not given the authority is warned, and nobody is let onto another name by it', async () => {
  const page = await (await stranger.newContext()).newPage();
  await expect(page.goto(`${secure}/sign-in`)).rejects.toThrow(/ERR_CERT_AUTHORITY_INVALID/);
  await page.context().close();

  test.skip(!byAuthority, 'no certutil: Chromium was not given the authority');
  // The same authority signed a leaf for another host: Chromium holds it to its constraint.
  const foreign = https.createServer(
    { cert: readFileSync(join(folder, 'foreign.pem')), key: readFileSync(join(folder, 'foreign-key.pem')) },
    (_, answer) => answer.end('reached'),
  );
  await new Promise((listening) => foreign.listen(0, '127.0.0.1', () => listening(undefined)));
  const { port } = /** @type {import('node:net').AddressInfo} */ (foreign.address());
  const other = await (await browser.newContext()).newPage();
  await expect(other.goto(`https://other.deckwatch.test:${port}/`)).rejects.toThrow(/ERR_CERT_/);
  await other.context().close();
  foreign.close();
});

test('the plain twin answers at the bare address, says what it is, and leaves out what it must', async () => {
  const context = await browser.newContext({ baseURL: plain, viewport: screens.deck });
  const page = await context.newPage();
  const answer = await page.goto('/enrol');
  expect(answer?.status()).toBe(200);
  expect(answer?.request().redirectedFrom()).toBeNull();
  expect(page.url()).toBe(`${plain}/enrol`);
  expect(answer?.headers()['strict-transport-security']).toBeUndefined();
  expect(await page.evaluate(() => isSecureContext)).toBe(false);
  expect(await page.evaluate(() => 'serviceWorker' in navigator)).toBe(false);
  await expect(page.locator('.basic-word')).toHaveText('Basic mode: keep this page open');
  await page.setViewportSize({ width: 320, height: 640 });
  expect(await page.evaluate(tooWide)).toBeLessThanOrEqual(0);

  await page.goto('/authority');
  await expect(page.locator('.fingerprint')).toHaveText(new X509Certificate(readFileSync(authority)).fingerprint256);
  expect(await page.evaluate(tooWide)).toBeLessThanOrEqual(0);
  expect(await everyPalette(page)).toEqual([]);
  const file = await context.request.get('/authority.crt');
  expect(file.headers()['content-type']).toBe('application/x-x509-ca-cert');
  expect(new X509Certificate(await file.body()).ca).toBe(true);
  await context.close();
});

test('without scripts the crew launches and fetches a group over the twin', async () => {
  test.setTimeout(240_000);
  const bare = { javaScriptEnabled: false };
  const deck = await device(plain, box.divemaster, 'Deck', codes[1], { viewport: screens.deck, ...bare });
  const helm = await device(plain, box.skipper, 'Helm', codes[2], { viewport: screens.helm, ...bare });
  expect((await helm.context().cookies()).map((one) => one.name).sort()).toEqual(['deckwatch-device', 'deckwatch-session']);
  await helm.goto(`/helm/${trip}`);
  await expect(helm.locator('.basic-word')).toBeVisible();
  // Codes for devices are given out over https only, and the page says where.
  expect((await helm.goto(`/helm/${trip}/devices`))?.status()).toBe(403);
  await expect(helm.locator('.problem')).toContainText(secure);

  await work.passGate(helm, deck, trip, 'Depart', 6);
  await helm.goto(`/helm/${trip}/trip`);
  await helm.getByRole('button', { name: /On site of dive 1/ }).click();
  await work.postLookout(deck, trip, 'Oren Falk');
  const [group] = await work.groupPages(deck, trip);
  await work.check(deck, String(group));
  await work.drop(deck);
  await helm.goto(`/helm/${trip}`);
  await expect(helm.locator(`#group-${String(group).split('/').at(-1)}`)).toHaveAttribute('data-phase', 'down');
  const names = (await deck.locator('#heads .check').allInnerTexts()).map((text) => String(text.split('\n')[0]));
  await work.heads(deck, String(group), names);
  for (const name of names) await work.aboard(deck, String(group), name);
  await expect(deck.getByText('Everybody of this group is accounted for.')).toBeVisible();
  await deck.context().close();
  await helm.context().close();
});

/** Goes there by the Tab key alone, and sees where it is.
 * @param {import('@playwright/test').Page} page @param {import('@playwright/test').Locator} target */
async function tabTo(page, target) {
  await expect(target).toBeVisible();
  for (let steps = 0; steps < 120; steps += 1) {
    if (await target.evaluate((one) => one === document.activeElement)) break;
    await page.keyboard.press('Tab');
  }
  await expect(target).toBeFocused();
  expect(await target.evaluate((one) => one.matches(':focus-visible'))).toBe(true);
}

/** @param {import('@playwright/test').Page} page @param {import('@playwright/test').Locator} target @param {string} key */
async function press(page, target, key) {
  await tabTo(page, target);
  await page.keyboard.press(key);
}

test('by keyboard alone, 320 px wide, the watch is read and a group goes in and comes back', async () => {
  test.setTimeout(240_000);
  const narrow = { viewport: { width: 320, height: 640 } };
  const deck = await device(plain, box.divemaster, 'Deck', codes[3], narrow);
  const helm = await device(plain, box.skipper, 'Helm', codes[4], narrow);

  await deck.goto(`/deck/${trip}`);
  const row = deck.locator('li.row[data-phase="ready"] a').first();
  await press(deck, row, 'Enter');
  await expect(deck).toHaveURL(/\/group\//);
  const group = deck.url();
  await press(deck, deck.getByRole('checkbox', { name: /Engine in neutral/ }), 'Space');
  await press(deck, deck.getByRole('checkbox', { name: /Flag A shown/ }), 'Space');
  expect(await deck.evaluate(tooWide)).toBeLessThanOrEqual(0);
  await press(deck, deck.getByRole('button', { name: 'Checks done' }), 'Enter');
  await press(deck, deck.getByRole('button', { name: 'Left surface' }), 'Enter');
  await expect(deck.getByText('Who is seen at the surface?')).toBeVisible();

  // The watch, read and entered by keys.
  await helm.goto(`/helm/${trip}`);
  const id = `group-${group.split('/').at(-1)}`;
  const down = helm.locator(`[id="${id}"]`);
  await expect(down).toHaveAttribute('data-phase', 'down');
  expect(await helm.evaluate(tooWide)).toBeLessThanOrEqual(0);
  await press(helm, down.getByRole('link').first(), 'Enter');
  await expect(helm).toHaveURL(/\/helm\/.*\/group\//);
  expect(await helm.evaluate(tooWide)).toBeLessThanOrEqual(0);
  await press(helm, helm.getByRole('link', { name: 'Watch list' }), 'Enter');
  await expect(helm).toHaveURL(new RegExp(`/helm/${trip}$`));

  const faces = deck.locator('#heads').getByRole('checkbox');
  await expect(faces).toHaveCount(2);
  for (const face of await faces.all()) await press(deck, face, 'Space');
  await press(deck, deck.getByRole('button', { name: /^Signal for help/ }), 'Enter');

  // What the deck said stands on the watch by itself, and is acknowledged by keys.
  const alert = helm.locator('#strip .alert[id^="alert-distress"][data-alert-state="active"]');
  await press(helm, alert.getByRole('link'), 'Enter');
  await expect(helm).toHaveURL(new RegExp(`/helm/${trip}/alerts`));
  expect(await helm.evaluate(tooWide)).toBeLessThanOrEqual(0);
  await press(helm, helm.getByRole('button', { name: 'Acknowledge' }).first(), 'Enter');
  await expect(helm.locator('main .alert[data-alert-state="acknowledged"]').first()).toBeVisible();
  await press(helm, helm.getByRole('link', { name: 'Watch list' }), 'Enter');
  for (let left = 2; left > 0; left -= 1) {
    await deck.goto(group);
    await press(deck, deck.getByRole('button', { name: /^Aboard now/ }).first(), 'Enter');
    await expect(deck.locator('.undo')).toContainText('aboard');
  }
  await expect(down).toHaveAttribute('data-phase', 'aboard');
  await deck.context().close();
  await helm.context().close();
});

/** A certificate of the box's own name that ends at an instant, signed by its authority.
 * @param {Date} ends */
function ending(ends) {
  const at = (/** @type {string} */ name) => join(home, name);
  const stamp = (/** @type {Date} */ when) => `${when.toISOString().replace(/[-:T]/g, '').slice(0, 14)}Z`;
  writeFileSync(at('index.txt'), '');
  writeFileSync(at('serial'), '1001\n');
  writeFileSync(at('ca.conf'), `[ca]\ndefault_ca=d\n[d]\ndatabase=${at('index.txt')}\nserial=${at('serial')}\nnew_certs_dir=${home}\ndefault_md=sha256\npolicy=p\nx509_extensions=e\n[p]\ncommonName=optional\n[e]\nbasicConstraints=CA:FALSE\nextendedKeyUsage=serverAuth\nsubjectAltName=DNS:boat.deckwatch.test\n`);
  const openssl = (/** @type {string[]} */ ...args) => execFileSync('openssl', args, { stdio: 'pipe' });
  openssl('req', '-new', '-newkey', 'ec', '-pkeyopt', 'ec_paramgen_curve:P-256', '-nodes', '-keyout', at('short-key.pem'), '-out', at('short.csr'), '-subj', '/CN=boat.deckwatch.test');
  openssl('ca', '-batch', '-notext', '-config', at('ca.conf'), '-cert', authority, '-keyfile', join(folder, 'authority-key', 'authority-key.pem'),
    '-in', at('short.csr'), '-out', at('short.pem'), '-startdate', stamp(new Date(Date.now() - 86_400_000)), '-enddate', stamp(ends));
  return { key: readFileSync(at('short-key.pem')), cert: readFileSync(at('short.pem')), name: 'boat.deckwatch.test' };
}

test('with the certificate ended the device works alone within five seconds, says why, and hands over what it holds', async () => {
  test.skip(!byAuthority, 'no certutil: Chromium was not given the authority');
  test.setTimeout(180_000);
  const ends = new Date(Math.ceil(Date.now() / 1000) * 1000 + 45_000);
  const sea = await network(secure, ending(ends));
  // The box tells the end of its own certificate; this one stands in for it.
  sea.faults.change = (_, body) => body.replace(/data-certificate-ends="[^"]*"/, `data-certificate-ends="${ends.toISOString()}"`);
  // A browser of its own that is closed and started again: it keeps what it found of a certificate for a while.
  const profile = join(home, 'profile');
  const start = () => chromium.launchPersistentContext(profile, {
    ...launch, env: trusted, args: [...(launch.args ?? []), NAMES], viewport: screens.deck, acceptDownloads: true,
  });
  let context = await start();
  let page = await context.newPage();
  await letIn(page, sea.url, codes.at(-1) ?? '', 'Deck with a short certificate', 'Deck');
  await signIn(page, sea.url, box.divemaster.name, box.divemaster.pin);
  await page.goto(`${sea.url}/deck/${trip}`);
  await expect(page.locator('html')).toHaveAttribute('data-worker', 'ready', { timeout: 20_000 });
  await page.reload();
  await expect(page.locator('html')).toHaveAttribute('data-kept', /\d+/);
  await expect(page.locator('html')).toHaveAttribute('data-goes-on', '');
  expect(Date.now(), 'there is time left').toBeLessThan(ends.getTime());
  await context.close();
  await new Promise((resolve) => setTimeout(resolve, ends.getTime() - Date.now() + 1_500));
  context = await start();
  page = await context.newPage();
  const from = Date.now();
  await page.goto(`${sea.url}/deck/${trip}`);
  await expect(page.getByText('Working alone').first()).toBeVisible({ timeout: 5_000 });
  await expect(page.getByText(`The certificate of this address ended on ${ends.toISOString().slice(0, 10)}`)).toBeVisible({ timeout: 5_000 });
  console.log(`alone, and why, ${Date.now() - from} ms after the page was asked for`);
  await page.goto(`${sea.url}/deck/${trip}/incident`);
  await page.getByLabel('What happened').fill('kept with the certificate ended');
  await page.getByRole('button', { name: 'Log note' }).click();
  await page.getByRole('link', { name: 'Saved here, 1 waiting' }).click();
  await page.getByRole('link', { name: 'Hand over the log' }).click();
  const download = page.waitForEvent('download');
  await page.getByRole('button', { name: /file/i }).or(page.getByRole('link', { name: /file/i })).first().click();
  const file = await (await download).path();
  expect(readFileSync(String(file), 'utf8')).toContain('kept with the certificate ended');
  await context.close();
  await sea.end();
});
