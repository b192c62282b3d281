// The second copy: a box that is destroyed is filled again from two tablets; a tablet that cannot
// reach its box hands over what it made, as a file and as codes.
import { spawn } from 'node:child_process';
import { mkdtemp, readFile, rm } from 'node:fs/promises';
import { createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

import { expect, test } from '@playwright/test';
import jsQR from 'jsqr';

import { everyPalette } from './axe.mjs';
import { sizes } from './boxes.mjs';
import { letIn, screens, signIn } from './crew.mjs';
import * as work from './work.mjs';

const PROGRAM = process.env.DECKWATCH ?? '';
const CREW = /** @type {const} */ ([
  ['Mara Quist', 'skipper', '730915'],
  ['Oren Falk', 'divemaster', '604182'],
  ['Lys Harrow', 'desk', '815037'],
]);

/** @param {string[]} args @param {string} [typed] @returns {Promise<string>} */
function run(args, typed) {
  return new Promise((resolve, reject) => {
    const child = spawn(PROGRAM, args, { stdio: [typed === undefined ? 'ignore' : 'pipe', 'pipe', 'inherit'] });
    let out = '';
    child.stdout?.on('data', (data) => (out += data));
    child.on('error', reject);
    child.on('close', (code) => (code === 0 ? resolve(out) : reject(new Error(`${args.join(' ')}: ${code}`))));
    child.stdin?.end(`${typed}\n`);
  });
}

/** @returns {Promise<number>} a port that was free a moment ago */
const freePort = () =>
  new Promise((resolve) => {
    const server = createServer().listen(0, '127.0.0.1', () => {
      const address = server.address();
      server.close(() => resolve(typeof address === 'object' && address ? address.port : 0));
    });
  });

/** Those that were started, whatever becomes of the test. @type {Set<Box>} */
const boxes = new Set();

/** A box of this test's own, with three accounts and nothing else. */
class Box {
  /** @type {string[]} */
  codes = [];
  /** @type {import('node:child_process').ChildProcess | undefined} */
  #server;
  #data = '';

  /** @param {number} port */
  constructor(port) {
    this.url = `http://127.0.0.1:${port}`;
  }

  async start() {
    boxes.add(this);
    this.#data = await mkdtemp(join(tmpdir(), 'deckwatch-'));
    for (const [name, role, pin] of CREW) await run(['crew', '--data', this.#data, 'add', name, '--role', role], pin);
    this.codes = [];
    for (let nth = 0; nth < 3; nth += 1) this.codes.push((await run(['crew', '--data', this.#data, 'code'])).replace(/\D/g, '').slice(0, 8));
    this.#server = spawn(PROGRAM, ['serve', '--bind', this.url.slice('http://'.length), '--data', this.#data], { stdio: 'ignore' });
    await expect.poll(() => fetch(`${this.url}/api/health`).then((answer) => answer.status, () => 0), { timeout: 20_000 }).toBe(200);
  }

  /** The power goes, and the disk with it. */
  async destroy() {
    const server = this.#server;
    if (server?.exitCode === null && server.signalCode === null) {
      const gone = new Promise((resolve) => server.once('exit', resolve));
      server.kill('SIGKILL');
      await gone;
    }
    await rm(this.#data, { recursive: true, force: true });
  }
}

/** @param {import('@playwright/test').BrowserContext} context @param {Box} box @param {number} who @param {'Helm' | 'Deck' | 'Desk'} kind */
async function enter(context, box, who, kind) {
  const page = await context.newPage();
  const [name, , pin] = CREW[who] ?? CREW[0];
  await letIn(page, box.url, box.codes[who] ?? '', `${kind} of ${name}`, kind);
  await signIn(page, box.url, name, pin);
  return page;
}

/** Gives what runs inside a page the modules of that page's own version: `part('kept.js')`.
 * @param {import('@playwright/test').BrowserContext} context */
const withParts = (context) =>
  context.addInitScript(() => {
    /** @type {any} */ (globalThis).part = (/** @type {string} */ name) =>
      import(new URL(name, /** @type {HTMLScriptElement} */ (document.querySelector('script[src*="/js/app.js"]')).src).href);
  });

/** @param {import('@playwright/test').Page} page @param {string} trip @returns {Promise<string[]>} */
const copyOf = (page, trip) => page.evaluate(async (trip) => (await /** @type {any} */ (globalThis).part('kept.js')).lines(trip), trip);

/** @param {import('@playwright/test').Page} page @param {string} trip */
async function told(page, trip) {
  const [digest, picture] = await Promise.all(['digest', 'picture'].map(async (part) => (await page.context().request.get(`/api/trips/${trip}/${part}`)).json()));
  return { entries: digest.entries, digest: digest.digest, devices: digest.devices, people: picture.picture.people };
}

/** A trip with two people and both tablets' eyes on it.
 * @param {import('@playwright/test').Browser} browser @param {Box} box */
async function underWay(browser, box) {
  const window = (/** @type {keyof typeof screens} */ place) => browser.newContext({ baseURL: box.url, viewport: screens[place], acceptDownloads: true });
  const [helmTablet, deckTablet, deskPc] = await Promise.all([window('helm'), window('deck'), window('desk')]);
  await Promise.all([withParts(helmTablet), withParts(deckTablet)]);
  const desk = await enter(deskPc, box, 2, 'Desk');
  await work.registerBoat(desk, 'Sable Tern');
  const trip = await work.openTrip(desk, 'Sable Tern', CREW[0][0]);
  await work.addByTyping(desk, trip, 'Ana Brel; autonomous diver; 20', 'Diver');
  await work.addByTyping(desk, trip, 'Bo Cask; autonomous diver; 20', 'Diver');
  await deskPc.close();
  const [helm, deck] = [await enter(helmTablet, box, 0, 'Helm'), await enter(deckTablet, box, 1, 'Deck')];
  return { trip, helm, deck };
}

test.describe.configure({ mode: 'parallel' });
test.afterEach(async () => {
  for (const box of boxes) await box.destroy();
  boxes.clear();
});
test.skip(PROGRAM === '', 'DECKWATCH names the program');

test('a destroyed box is filled again by two tablets: the same digest, the same people', async ({ browser }) => {
  test.setTimeout(180_000);
  const box = new Box(await freePort());
  await box.start();
  const { trip, helm, deck } = await underWay(browser, box);
  await deck.goto(`/deck/${trip}`);
  await expect.poll(async () => (await copyOf(deck, trip)).length).toBeGreaterThan(2);
  // The phone sees no more of the trip than this; the tablet sees the rest come by itself.
  await deck.goto('/');
  await helm.goto(`/helm/${trip}`);
  await expect.poll(async () => (await copyOf(helm, trip)).length).toBeGreaterThan(2);
  const before = (await copyOf(helm, trip)).length;
  const other = await helm.context().newPage();
  await work.callRoll(other, `/helm/${trip}`);
  await other.close();
  await expect.poll(async () => (await copyOf(helm, trip)).length, { timeout: 10_000 }).toBeGreaterThan(before);
  const whole = await told(helm, trip);
  expect((await copyOf(helm, trip)).length).toBe(whole.entries);
  // The tablet's browser lost an entry that the phone still has.
  const [, first] = await copyOf(helm, trip);
  await helm.evaluate(async (key) => {
    const asked = indexedDB.open('deckwatch');
    /** @type {IDBDatabase} */
    const db = await new Promise((resolve) => (asked.onsuccess = () => resolve(asked.result)));
    const tx = db.transaction('lines', 'readwrite');
    tx.objectStore('lines').delete(key);
    await new Promise((resolve) => (tx.oncomplete = resolve));
    db.close();
  }, [trip, String(JSON.parse(first ?? '').event.id)]);
  expect((await copyOf(helm, trip)).length).toBe(whole.entries - 1);

  await box.destroy();
  await box.start();
  // New accounts, new devices; the box does not know the trip, and says so to whoever holds it.
  const helmAgain = await enter(helm.context(), box, 0, 'Helm');
  expect((await helmAgain.context().request.get(`/api/trips/${trip}/digest`)).status()).toBe(404);
  await helmAgain.goto('/');
  const offer = helmAgain.locator('[data-log-offers]');
  await expect(offer).toContainText(`${whole.entries - 1} entries`);
  await offer.getByRole('button', { name: 'Hand over to the box' }).click();
  await expect(helmAgain.locator(`a[href="/helm/${trip}"]`)).toBeVisible();
  expect((await told(helmAgain, trip)).entries).toBe(whole.entries - 1);

  // The phone is asked nothing: the box holds the trip and lacks an entry.
  const deckAgain = await enter(deck.context(), box, 1, 'Deck');
  await deckAgain.goto(`/deck/${trip}`);
  await expect.poll(async () => (await told(deckAgain, trip)).entries).toBe(whole.entries);
  expect(await told(deckAgain, trip)).toEqual(whole);
  // And both have the whole of it again, under the numbers of the new box.
  await helmAgain.goto(`/helm/${trip}/logs`);
  await expect(helmAgain.getByText('The box holds all that this device holds.')).toBeVisible();
  expect((await copyOf(helmAgain, trip)).length).toBe(whole.entries);
  await expect(helmAgain.getByText(`Mara Quist: ${whole.entries - 1} new`)).toBeVisible();
  await expect(helmAgain.getByText('Oren Falk: 1 new')).toBeVisible();
});

/** Acts as somebody does who is alone: an entry that no box has.
 * @param {import('@playwright/test').Page} page @param {string} trip @param {string} text */
async function noteAlone(page, trip, text) {
  await page.evaluate(
    async ({ trip, text }) => {
      const { put } = await /** @type {any} */ (globalThis).part('outbox.js');
      await put(trip, [{ kind: 'incident-noted', payload: { text }, about: {} }], text);
    },
    { trip, text },
  );
}

/** @param {import('@playwright/test').Page} page @param {string} trip @param {string} text @returns {Promise<any>} its line on the box */
async function onTheBox(page, trip, text) {
  const log = await (await page.context().request.get(`/api/trips/${trip}/log`)).text();
  const line = log.split('\n').find((line) => line.includes(text));
  return line === undefined ? undefined : JSON.parse(line);
}

test('a tablet that cannot reach the box hands its entries over as a file and as codes', async ({ browser }) => {
  test.setTimeout(180_000);
  const box = new Box(await freePort());
  await box.start();
  const { trip, helm, deck } = await underWay(browser, box);
  await deck.goto(`/deck/${trip}/logs`);
  await expect(deck.getByText('The box holds all that this device holds.')).toBeVisible();
  await helm.goto(`/helm/${trip}/logs`);
  await expect(helm.getByText('The box holds all that this device holds.')).toBeVisible();
  for (const [page, place] of /** @type {const} */ ([[deck, 'deck'], [helm, 'helm']])) {
    expect(await sizes(page, place)).toEqual([]);
    expect(await everyPalette(page)).toEqual([]);
  }

  // As a file.
  await deck.context().setOffline(true);
  await noteAlone(deck, trip, 'Anchor chain fouled');
  await deck.getByRole('radio', { name: 'Not delivered yet' }).check({ force: true });
  const [download] = await Promise.all([deck.waitForEvent('download'), deck.getByRole('button', { name: 'Save as a file' }).click()]);
  expect(download.suggestedFilename()).toBe(`trip-${trip}.jsonl`);
  const file = await readFile(await download.path(), 'utf8');
  expect(file.trim().split('\n')).toHaveLength(1);
  await helm.getByLabel('File').setInputFiles({ name: 'trip.jsonl', mimeType: 'application/jsonl', buffer: Buffer.from(file) });
  await helm.getByRole('button', { name: 'Take in' }).click();
  await expect(helm.getByText('1 entries taken in and kept on this device.')).toBeVisible();
  await expect(helm.getByText('1 entries handed over; 0 were there.')).toBeVisible();
  const noted = await onTheBox(helm, trip, 'Anchor chain fouled');
  expect(noted.event.by.name).toBe('Oren Falk');
  expect(noted.receipt.relayed_by).toBe('Mara Quist');
  expect(noted.receipt.mono_age_ms).toBeGreaterThan(0);

  // As codes, by the camera of the other, which is out of reach of the box as well: it is kept.
  // Long and hard to squeeze, so that it makes several codes.
  const long = `Second ladder bent ${Array.from({ length: 90 }, (_, nth) => Math.sin(nth).toFixed(12)).join(' ')}`;
  await noteAlone(deck, trip, long);
  await deck.getByRole('button', { name: 'Show as codes' }).click();
  await deck.getByRole('button', { name: 'Pause' }).click();
  const shown = deck.locator('canvas[data-code]');
  const of = Number(/ of (\d+)/.exec(await deck.locator('[data-code-says]').innerText())?.[1]);
  expect(of).toBeGreaterThan(1);
  /** @type {string[]} */
  const pictures = [];
  /** @type {string[]} */
  const texts = [];
  for (let nth = 0; nth < of; nth += 1) {
    const pixels = await shown.evaluate((canvas) => {
      const drawn = /** @type {HTMLCanvasElement} */ (canvas);
      const data = drawn.getContext('2d')?.getImageData(0, 0, drawn.width, drawn.height).data ?? new Uint8ClampedArray();
      return { width: drawn.width, grey: Array.from(data.filter((_, at) => at % 4 === 0)), png: drawn.toDataURL('image/png').split(',')[1] ?? '' };
    });
    pictures.push(pixels.png);
    // Another program reads what the canvas shows.
    const rgba = Uint8ClampedArray.from(pixels.grey.flatMap((grey) => [grey, grey, grey, 255]));
    const read = jsQR(rgba, pixels.width, pixels.width);
    expect(read?.version).toBeLessThanOrEqual(20);
    texts.push(read?.data ?? '');
    const was = await shown.getAttribute('data-part');
    await deck.getByRole('button', { name: 'Next' }).click();
    if (of > 1) await expect(shown).not.toHaveAttribute('data-part', was ?? '');
  }
  const together = await helm.evaluate(async (texts) => {
    const { Collected, readCode } = await /** @type {any} */ (globalThis).part('log-codes.js');
    const collected = new Collected();
    for (const text of texts) collected.add(readCode(text));
    return collected.lines();
  }, texts);
  expect(together.map((/** @type {string} */ line) => JSON.parse(line).event.payload.text)).toEqual(['Anchor chain fouled', long]);

  await helm.context().setOffline(true);
  // A camera that sees one code after the other, small and askew on grey.
  await helm.evaluate(async (pictures) => {
    const bitmaps = await Promise.all(
      pictures.map((png) => createImageBitmap(new Blob([Uint8Array.from(atob(png), (letter) => letter.charCodeAt(0))], { type: 'image/png' }))),
    );
    const canvas = Object.assign(document.createElement('canvas'), { width: 1280, height: 960 });
    const context = canvas.getContext('2d');
    let nth = 0;
    setInterval(() => {
      const bitmap = bitmaps[Math.floor(nth++ / 6) % bitmaps.length];
      if (!context || !bitmap) return;
      context.resetTransform();
      context.fillStyle = '#999';
      context.fillRect(0, 0, canvas.width, canvas.height);
      context.translate(640, 480);
      context.rotate(0.12);
      context.drawImage(bitmap, -390, -390, 780, 780);
    }, 50);
    navigator.mediaDevices.getUserMedia = async () => canvas.captureStream(20);
  }, pictures);
  // What reads codes came with the page, as the shell of a device alone has it.
  await helm.getByRole('button', { name: 'Read codes' }).click();
  await expect(helm.locator('[data-taken-says]')).toHaveText('2 entries taken in and kept on this device.', { timeout: 30_000 });
  await expect(helm.getByText('The box is not in reach.')).toBeVisible();
  expect(await onTheBox(helm, trip, 'Second ladder bent').catch(() => undefined)).toBeUndefined();
  await helm.context().setOffline(false);
  await expect.poll(async () => (await onTheBox(helm, trip, 'Second ladder bent'))?.receipt.relayed_by).toBe('Mara Quist');

  // Pasted text: a line that is none is named, what is whole goes in; half a sequence is told.
  await helm.getByLabel('Or paste lines or codes here').fill(`{"event":{}}\n${file}`);
  await helm.getByRole('button', { name: 'Take in' }).click();
  await expect(helm.getByText('Line 1 is no entry of a log.')).toBeVisible();
  const many = Array.from({ length: 150 }, (_, nth) => file.trim().replace('Anchor', `Anchor ${Math.sin(nth)}`));
  /** @type {string[]} */
  const parts = await helm.evaluate(async ({ trip, many }) => (await /** @type {any} */ (globalThis).part('log-codes.js')).toCodes(trip, many), { trip, many });
  expect(parts.length).toBeGreaterThan(1);
  await helm.getByLabel('Or paste lines or codes here').fill(parts[0] ?? '');
  await helm.getByRole('button', { name: 'Take in' }).click();
  await expect(helm.getByText(new RegExp(`1 of ${parts.length} codes are there. Missing: 2`))).toBeVisible();
});

test('with the box gone and the tab loaded anew, the shell still hands the log over', async ({ browser }) => {
  test.setTimeout(120_000);
  const box = new Box(await freePort());
  await box.start();
  const { trip, deck } = await underWay(browser, box);
  await deck.goto(`/deck/${trip}`);
  // The worker is installed, the picture is kept, and the copy is whole.
  await expect(deck.locator('html')).toHaveAttribute('data-worker', 'ready', { timeout: 20_000 });
  await deck.reload();
  await expect(deck.locator('html')).toHaveAttribute('data-kept', /\d+/);
  await expect.poll(async () => (await copyOf(deck, trip)).length).toBeGreaterThan(2);
  const held = await copyOf(deck, trip);
  await noteAlone(deck, trip, 'Rudder stiff');
  await box.destroy();
  await deck.goto(`/deck/${trip}/logs`);
  await expect(deck.getByText(`This device holds ${held.length + 1} entries, 1 of them not delivered.`)).toBeVisible({ timeout: 20_000 });
  await expect(deck.getByText('The box is not in reach.')).toBeVisible();
  await expect(deck.getByRole('button', { name: 'Hand over to the box' })).toBeHidden();
  expect(await sizes(deck, 'deck')).toEqual([]);
  const [download] = await Promise.all([deck.waitForEvent('download'), deck.getByRole('button', { name: 'Save as a file' }).click()]);
  const lines = (await readFile(await download.path(), 'utf8')).trim().split('\n');
  expect(lines.slice(0, -1)).toEqual(held);
  expect(JSON.parse(lines.at(-1) ?? '').event.payload.text).toBe('Rudder stiff');
  await deck.getByRole('radio', { name: 'Not delivered yet' }).check({ force: true });
  await deck.getByRole('button', { name: 'Show as codes' }).click();
  await expect(deck.getByText('Code 1 of 1')).toBeVisible();

  // Another box takes the file by the page that needs no scripts, and holds the trip.
  const other = new Box(await freePort());
  await other.start();
  const plain = await browser.newContext({ baseURL: other.url, viewport: screens.helm, javaScriptEnabled: false });
  const page = await enter(plain, other, 0, 'Helm');
  await page.goto('/logs');
  await page.getByLabel('File').setInputFiles(await download.path());
  await page.getByRole('button', { name: 'Take in' }).click();
  await expect(page.getByText(`${held.length + 1} new, 0 were here already.`)).toBeVisible();
  expect((await told(page, trip)).entries).toBe(held.length + 1);
});
