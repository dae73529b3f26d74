import type { Page } from 'playwright-core';
import { beforeAll, beforeEach, describe, expect, test } from 'vitest';
import { createPiece } from '../../src/piece/defaults.ts';
import { decodePieceFile } from '../../src/piece/file.ts';
import { browserPages } from '../helpers/browser-pages.ts';
import { buildEarlierLayout, bytesOf, earlierKeys } from '../helpers/earlier-layout.ts';
import { keptRecords, keptStores } from '../helpers/kept.ts';
import { nameOf, noticeOf, openPage, openStep, readDownload } from '../helpers/kept-page.ts';
import { flatPhoto, tinyPiece } from '../helpers/tiny-piece.ts';

let page: Page;
const tools = browserPages({
  name: 'earlier',
  demo: () => tinyPiece('Demo'),
  view: false,
  context: { viewport: { width: 1000, height: 700 }, acceptDownloads: true },
  onPage: (made) => {
    page = made;
  },
});

const PATIENCE = { timeout: 20_000 };
const KEY = '0123456789abcdef01234567';
const OTHER_KEY = '76543210fedcba9876543210';
let photo: Buffer;
let sheet: Buffer;
beforeAll(async () => {
  photo = await flatPhoto(210);
  sheet = await tinyPiece('Of the sheet', 90);
});
beforeEach(async () => {
  await page.route('**/bare', (route) => route.fulfill({ body: '', contentType: 'text/html' }));
  await page.goto(`${tools.url}bare`);
});

const whole = createPiece('Long saved', 'long.jpg');
const tiny = {
  ...whole,
  slab: { ...whole.slab, widthMm: 30, heightMm: 24 },
  picture: { ...whole.picture, widthMm: 8 },
};
const text = JSON.stringify(tiny);
const work = (piece = text, photoKey?: string) =>
  JSON.stringify({ piece, photoKey: photoKey ?? KEY, photoName: 'long.jpg', images: [] });
const says = (words: RegExp) => expect.poll(() => noticeOf(page).first().textContent(), PATIENCE).toMatch(words);

describe('a browser that an earlier page kept its work in', () => {
  test('opens on that work, once and for all', async () => {
    const key = await page.evaluate(
      async (bytes) => {
        const digest = new Uint8Array(await crypto.subtle.digest('SHA-256', new Uint8Array(bytes)));
        return [...digest.subarray(0, 12)].map((byte) => byte.toString(16).padStart(2, '0')).join('');
      },
      [...photo],
    );
    await buildEarlierLayout(page, {
      work: work(text, key),
      entries: {
        'foreburn-photo': { key, bytes: bytesOf(photo) },
        'foreburn-kept-7KQ2-M0XB': bytesOf(sheet),
        'foreburn-shelf': '{"format":"fore',
        'another-program': 'stays',
      },
    });
    await openPage(page, tools.url);
    expect(await nameOf(page).inputValue()).toBe('Long saved');
    await openStep(page, 'Picture');
    await page.getByText('long.jpg, 60 × 45 pixels').waitFor(PATIENCE);
    expect(await earlierKeys(page)).toEqual(['another-program']);
    await nameOf(page).fill('Gone on');
    await expect.poll(async () => (await keptRecords(page))[0].title, PATIENCE).toBe('Gone on');
    // The shelf that nobody can read is still there, to be saved.
    await page.getByRole('button', { name: 'Pieces…' }).click();
    await page.getByRole('listitem').filter({ hasText: 'Shelf of calibrations' }).waitFor(PATIENCE);
    await page.goto(`${tools.url}#piece=7KQ2-M0XB`);
    await page.reload();
    await expect.poll(() => nameOf(page).inputValue(), PATIENCE).toBe('Of the sheet');
    await expect.poll(() => keptRecords(page), PATIENCE).toHaveLength(2);
    expect(tools.faults).toEqual([]);
  });

  test('and was killed in, after another photograph was opened: the piece and the photograph that is there are kept', async () => {
    await buildEarlierLayout(page, {
      work: work(),
      entries: { 'foreburn-photo': { key: OTHER_KEY, bytes: bytesOf(photo) } },
    });
    await openPage(page, tools.url);
    await says(/“Long saved” is open, but its photograph long\.jpg is missing/);
    expect(await nameOf(page).inputValue()).toBe('Long saved');
    const { leftovers } = await keptStores(page);
    expect(leftovers.map(({ key }) => key)).toEqual(['foreburn-photo']);
  });

  test.each([
    ['cut off', work().slice(0, 300), /cannot be opened: the piece is damaged/],
    ['of a newer version', work(text.replace(/"version":\d+/, '"version":99')), /cannot be opened: .*newer Foreburn/],
  ])('%s: it stays as it is and can be saved with its photograph', async (_, saved, words) => {
    await buildEarlierLayout(page, {
      work: saved,
      entries: { 'foreburn-photo': { key: KEY, bytes: bytesOf(photo) } },
    });
    await openPage(page, tools.url);
    await says(words);
    await nameOf(page).fill('Something else');
    await expect.poll(async () => (await keptRecords(page)).length, PATIENCE).toBe(2);
    const [file] = await Promise.all([
      page.waitForEvent('download'),
      page.getByRole('button', { name: 'Save it as a file' }).click(),
    ]);
    const bytes = Buffer.from(await readDownload(file));
    expect(() => decodePieceFile(new Uint8Array(bytes))).toThrow(/damaged|newer/);
    expect(bytes.includes(photo)).toBe(true);
  });
});
