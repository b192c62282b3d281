// What goes along on paper: A4, at most two pages, nothing torn between them, large enough to read.
import { expect, test } from '@playwright/test';
import { getDocument } from 'pdfjs-dist/legacy/build/pdf.mjs';

import { drill, drillTrip, drillWindow, screens } from './crew.mjs';

/** A4 upright in points (ISO 216: 210 × 297 mm). */
const A4 = { width: 595.28, height: 841.89 };
/** Smallest type of a print, points. */
const LEAST = 10;

/** @typedef {{ text: string, size: number, x: number, y: number }} Piece */

/**
 * Prints a page and reads it back with another program's eyes.
 * @param {import('@playwright/test').Page} page
 * @returns {Promise<{ width: number, height: number, text: string, pieces: Piece[] }[]>}
 */
async function printed(page) {
  const data = await page.pdf({ preferCSSPageSize: true });
  const paper = await getDocument({ data: new Uint8Array(data), verbosity: 0 }).promise;
  const sheets = [];
  for (let number = 1; number <= paper.numPages; number += 1) {
    const sheet = await paper.getPage(number);
    const { width, height } = sheet.getViewport({ scale: 1 });
    const { items } = await sheet.getTextContent();
    const pieces = items.flatMap((item) =>
      'str' in item && item.str.trim() !== ''
        ? [{ text: item.str, size: Math.hypot(item.transform[2], item.transform[3]), x: item.transform[4], y: item.transform[5] }]
        : [],
    );
    sheets.push({ width, height, pieces, text: bare(pieces.map((piece) => piece.text).join('')) });
  }
  return sheets;
}

/** Without spaces: where a line was set in pieces, they are not told apart.
 * @param {string} text */
const bare = (text) => text.replace(/\s/g, '');

/** @param {Awaited<ReturnType<typeof printed>>} sheets */
function legible(sheets) {
  expect(sheets.length).toBeLessThanOrEqual(2);
  for (const sheet of sheets) {
    expect(Math.abs(sheet.width - A4.width)).toBeLessThan(1);
    expect(Math.abs(sheet.height - A4.height)).toBeLessThan(1);
    // Half a point of slack: the browser prints in CSS px, rounded.
    expect(sheet.pieces.filter((piece) => piece.size < LEAST - 0.5).map((piece) => `${piece.size.toFixed(1)} pt: ${piece.text}`)).toEqual([]);
    expect(sheet.pieces.filter(({ x, y }) => x < 0 || y < 0 || x > sheet.width || y > sheet.height)).toEqual([]);
    expect(sheet.text).toContain('DRILL');
  }
}

/** @type {import('@playwright/test').BrowserContext} */
let context;
/** @type {string} */
let trip;
test.beforeAll(async ({ browser }) => {
  context = await drillWindow(browser, drill.desk, { viewport: screens.desk });
  trip = await drillTrip(context);
});
test.afterAll(async () => context.close());

test('the boat sheet is two pages at most, and no group is torn between them', async () => {
  const page = await context.newPage();
  await page.goto(`/desk/${trip}/boat-sheet`);
  const groups = await page.locator('.boat-sheet tbody').evaluateAll((all) =>
    all.map((group) => ({
      lines: [...group.querySelectorAll('th, td:not(.write)')].flatMap((cell) => /** @type {HTMLElement} */ (cell).innerText.split('\n')),
    })),
  );
  expect(groups.length).toBeGreaterThan(7);
  const heads = await page.locator('.boat-sheet thead').first().locator('th').allInnerTexts();
  const sheets = await printed(page);
  console.log(`boat sheet: ${sheets.length} pages, ${groups.length} groups`);
  legible(sheets);
  for (const group of groups) {
    const whole = sheets.filter((sheet) => group.lines.every((line) => sheet.text.includes(bare(line))));
    expect(whole.length, `all of '${group.lines.join(' / ')}' on one page`).toBeGreaterThan(0);
  }
  for (const sheet of sheets) {
    if (groups.some((group) => sheet.text.includes(bare(group.lines[0] ?? '')))) {
      for (const head of heads) expect(sheet.text, 'the head of the table on each page').toContain(bare(head));
    }
  }
  await page.close();
});

test('the passenger list is two pages at most and names everybody', async () => {
  const page = await context.newPage();
  await page.goto(`/desk/${trip}/passenger-list`);
  const rows = await page.locator('#passengers tbody tr').evaluateAll((all) => all.map((row) => /** @type {HTMLElement} */ (row).innerText.replace(/\s/g, '')));
  expect(rows.length).toBeGreaterThan(39);
  const sheets = await printed(page);
  console.log(`passenger list: ${sheets.length} pages, ${rows.length} people`);
  legible(sheets);
  for (const row of rows) expect(sheets.filter((sheet) => sheet.text.includes(row)).length, row).toBe(1);
  await page.close();
});
