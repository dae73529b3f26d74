import { readFileSync } from 'node:fs';
import type { Page } from 'playwright-core';
import { expect, test } from 'vitest';
import { browserPages } from '../helpers/browser-pages.ts';
import { flatPhoto } from '../helpers/tiny-piece.ts';

let page: Page;
const tools = browserPages({
  name: 'by-keys',
  view: false,
  firstVisit: true,
  context: { viewport: { width: 1280, height: 800 }, acceptDownloads: true },
  onPage: (made) => {
    page = made;
  },
});

const MOST_TABS = 160;

/** Goes on with Tab until what has the focus is called so, as somebody without a mouse does; it must be seen that it has it. */
async function tabTo(name: RegExp): Promise<void> {
  for (let i = 0; i < MOST_TABS; i++) {
    await page.keyboard.press('Tab');
    const called = await page.evaluate(() => {
      const focused = document.activeElement;
      const label = focused instanceof HTMLInputElement ? focused.labels?.[0]?.textContent : null;
      return label ?? focused?.getAttribute('aria-label') ?? focused?.textContent ?? '';
    });
    if (!name.test(called)) continue;
    // A number's field shows it on the box that holds its unit too.
    const ring = await page.evaluate(() => {
      const focused = document.activeElement as Element;
      return getComputedStyle(focused.closest('.value-box') ?? focused).outlineStyle;
    });
    expect(ring, `${name} shows that it has the keyboard`).not.toBe('none');
    return;
  }
  throw new Error(`${name} cannot be reached with Tab`);
}

async function press(name: RegExp): Promise<void> {
  await tabTo(name);
  await page.keyboard.press('Enter');
}

const verdict = () => page.getByRole('region', { name: 'Will it come out?' });

test('from a photograph to the machine’s file without a mouse', async () => {
  // Without it a file is handed to the browser as a download.
  await page.addInitScript(() => Object.defineProperty(window, 'showSaveFilePicker', { value: undefined }));
  await page.goto(tools.url);
  await page.getByRole('button', { name: 'Open a photograph…' }).waitFor({ timeout: 60_000 });
  const [chooser] = await Promise.all([page.waitForEvent('filechooser'), press(/^Open a photograph…/)]);
  await chooser.setFiles({
    name: 'mill.jpg',
    mimeType: 'image/jpeg',
    buffer: Buffer.from(await flatPhoto(235, 60, 45)),
  });
  await page.getByText('mill.jpg, 60 × 45 pixels').waitFor({ timeout: 30_000 });
  await press(/^See the proof/);
  // Smaller, as the finding about its few pixels has it, so that the rest takes a moment only.
  await press(/^Picture/);
  await tabTo(/^Width on the slab/);
  await page.keyboard.press('Control+A');
  await page.keyboard.type('30');
  await page.keyboard.press('Enter');
  await verdict()
    .getByText(/likely case/)
    .waitFor({ timeout: 240_000 });
  const before = await verdict().getByRole('status').textContent();
  // Better settings.
  await press(/^Passes/);
  await tabTo(/^Light-end power/);
  await page.keyboard.press('Control+A');
  await page.keyboard.type('100');
  await page.keyboard.press('Enter');
  await expect.poll(() => verdict().getByRole('status').textContent(), { timeout: 240_000 }).not.toBe(before);
  await press(/^Hand over/);
  await press(/^For the machine/);
  const [download] = await Promise.all([
    page.waitForEvent('download', { timeout: 120_000 }),
    press(/^Save the program/),
  ]);
  const program = readFileSync(await download.path(), 'utf8');
  expect(program).toMatch(/^G1X/m);
  expect(tools.faults).toEqual([]);
});
