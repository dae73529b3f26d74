import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { askForDemo } from '../helpers/browser-pages.ts';
import { findChromium } from '../helpers/chromium.ts';
import { keptRecords, keptStores } from '../helpers/kept.ts';
import { nameOf, openPage, openPhoto, openPieceFile, openStep } from '../helpers/kept-page.ts';
import { type Killable, launchKillable } from '../helpers/killable-chromium.mjs';
import { type Served, serveBuiltPage } from '../helpers/serve.ts';
import { flatPhoto, tinyPiece } from '../helpers/tiny-piece.ts';

let served: Served;
let profile: string;
beforeAll(async () => {
  served = await serveBuiltPage();
  profile = mkdtempSync(join(tmpdir(), 'foreburn-kill-'));
});
afterAll(async () => {
  await served.close();
  rmSync(profile, { recursive: true, force: true, maxRetries: 5 });
});

const keptPhoto = async (page: Page) => (await keptRecords(page))[0]?.photo?.name;

async function launch(): Promise<Killable> {
  const browser = await launchKillable(findChromium(), profile);
  const demo = await tinyPiece('Demo');
  await browser.context.route('**/demo/*.foreburn', (route) => route.fulfill({ body: demo }));
  await askForDemo(browser.context);
  await openPage(browser.page, served.url);
  return browser;
}

test.each(['at once', 'half a second later', 'once it is kept'])(
  'a browser killed after another photograph was opened, %s, has a whole piece again',
  async (when) => {
    let browser = await launch();
    await openPieceFile(browser.page, 'Long saved', await tinyPiece('Long saved'));
    await expect.poll(() => keptPhoto(browser.page), { timeout: 20_000 }).toBe('Long saved.jpg');
    await openPhoto(browser.page, 'another.jpg', await flatPhoto(80, 50, 40));
    await browser.page.getByText('another.jpg, 50 × 40 pixels').waitFor();
    if (when === 'half a second later') await browser.page.waitForTimeout(500);
    if (when === 'once it is kept') {
      await expect.poll(() => keptPhoto(browser.page), { timeout: 20_000 }).toBe('another.jpg');
    }
    await browser.kill();

    browser = await launch();
    try {
      expect(await nameOf(browser.page).inputValue()).toBe('Long saved');
      await openStep(browser.page, 'Picture');
      const shown = when === 'once it is kept' ? 'another' : '(another|Long saved)';
      await browser.page.getByText(new RegExp(`${shown}\\.jpg, \\d+ × \\d+ pixels`)).waitFor();
      const [record] = await keptRecords(browser.page);
      const { images } = await keptStores(browser.page);
      const there = images.map(({ key }) => key);
      expect(record.images.filter((name) => !there.includes(name))).toEqual([]);
    } finally {
      await browser.kill();
    }
  },
);
