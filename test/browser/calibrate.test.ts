import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { strFromU8, unzipSync } from 'fflate';
import type { Locator, Page } from 'playwright-core';
import sharp from 'sharp';
import { beforeAll, describe, expect, test } from 'vitest';
import { createPiece } from '../../src/piece/defaults.ts';
import { encodePieceFile } from '../../src/piece/file.ts';
import { createCardOracle } from '../../src/studies/calibrate/predict-card.ts';
import { importShelf } from '../../src/studies/calibrate/shelf/shelf.ts';
import { shiftPiece } from '../../src/studies/sure/spread.ts';
import { type Card, parseCard } from '../../src/vision/card/card.ts';
import { cardColors } from '../../src/vision/card/read-photo.ts';
import { browserPages } from '../helpers/browser-pages.ts';
import { renderCardPhoto, SHOT } from '../helpers/render-card-photo.ts';
import { tinyPiece } from '../helpers/tiny-piece.ts';

/** The whole way takes a minute; several where the machine is busy with other things. */
const LONG_MS = 600_000;
let page: Page;
const tools = browserPages({
  name: 'calibrate',
  demo: () => tinyPiece('Demo'),
  view: false,
  context: { viewport: { width: 1280, height: 900 }, acceptDownloads: true },
  onPage: (made) => {
    page = made;
    page.setDefaultTimeout(120_000);
  },
});

const piece = (() => {
  const made = createPiece('Small', 'small.jpg');
  // Not far above clearing: there it matters most what is not known.
  const passes = [{ ...made.passes[0], lightEndPower: 0.62 }];
  return { ...made, passes, picture: { ...made.picture, widthMm: 24 } };
})();
/** The paint as it truly is: other than the preset says. */
const truth = shiftPiece(piece, ['coat0.threshold', 'coat0.specificEnergy'], [-0.1, -0.08]);
let pieceFile: string;
let table: string;

beforeAll(async () => {
  const jpeg = await sharp({ create: { width: 96, height: 72, channels: 3, background: '#f0f0f0' } })
    .composite([{ input: { create: { width: 48, height: 72, channels: 3, background: '#101010' } }, left: 0, top: 0 }])
    .jpeg()
    .toBuffer();
  pieceFile = join(tools.folder, 'small.foreburn');
  writeFileSync(pieceFile, encodePieceFile({ piece, images: new Map([['small.jpg', new Uint8Array(jpeg)]]) }));
  table = join(tools.folder, 'table.jpg');
  await sharp({ create: { width: 900, height: 700, channels: 3, background: '#9a8a70' } })
    .jpeg()
    .toFile(table);
});

const dialog = () => page.getByRole('dialog', { name: 'Calibrate with a card' });
const button = (name: string | RegExp) => dialog().getByRole('button', { name, exact: typeof name === 'string' });
const part = (name: string) => dialog().getByRole('radiogroup', { name: 'Parts' }).getByRole('radio', { name });

type Press = (target: Locator) => Promise<void>;
const byMouse: Press = (target) => target.click();
/** Reaches what is asked for by its own focus and the keyboard alone. */
const byKeyboard: Press = async (target) => {
  await target.focus();
  await page.keyboard.press((await target.getAttribute('role')) === 'radio' ? 'Space' : 'Enter');
};

async function openSheet(press: Press): Promise<void> {
  await page.goto(tools.url);
  const [chooser] = await Promise.all([
    page.waitForEvent('filechooser'),
    press(page.getByRole('button', { name: 'Open piece…' })),
  ]);
  await chooser.setFiles(pieceFile);
  await page.getByRole('textbox', { name: 'Name of the piece' }).and(page.locator('[value="Small"]')).waitFor();
  const open = page.getByRole('button', { name: 'Calibrate with a card…' });
  if (!(await open.isVisible())) await press(page.getByRole('button', { name: /^Passes/ }));
  await press(open);
  await dialog()
    .getByRole('img', { name: /as it should come out/ })
    .waitFor();
}

/** The card out of the saved burn job. */
async function saveJob(press: Press): Promise<Card> {
  const [file] = await Promise.all([page.waitForEvent('download'), press(button('Save the burn job'))]);
  const files = unzipSync(new Uint8Array(readFileSync(await file.path())));
  const programs = Object.keys(files).filter((name) => name.endsWith('.gcode'));
  expect(programs.length).toBeGreaterThan(1);
  for (const name of programs) expect(strFromU8(files[name]).startsWith('M5')).toBe(true);
  return parseCard(strFromU8(files[Object.keys(files).find((name) => name.endsWith('.json'))!]));
}

/** A phone's picture of the card, burned on the true paint. */
async function photograph(card: Card): Promise<string> {
  const oracle = createCardOracle(truth);
  const colors = cardColors(truth);
  const { width, height, rgba } = await renderCardPhoto(
    card,
    {
      paint: colors.paint,
      reference: colors.bare,
      marks: colors.bare,
      patches: new Map(card.patches.map((patch) => [patch.id, oracle.patch(truth, patch).lab])),
      lines: new Map(),
    },
    SHOT,
  );
  const path = join(tools.folder, `card-${card.id}.jpg`);
  await sharp(rgba, { raw: { width, height, channels: 4 } })
    .jpeg({ quality: 90 })
    .toFile(path);
  return path;
}

async function choosePhoto(press: Press, name: string, path: string): Promise<void> {
  const [chooser] = await Promise.all([page.waitForEvent('filechooser'), press(button(name))]);
  await chooser.setFiles(path);
}

/** Ends of a band as the sheet tells it, %. */
async function band(label: string): Promise<[number, number]> {
  const text = await dialog().locator('.calibrate-band', { hasText: label }).textContent();
  const [low, high] = text!.match(/[\d.]+ %/g)!.map((part) => Number.parseFloat(part));
  return [low, high];
}

async function fitAndUse(press: Press): Promise<void> {
  await press(button('Fit'));
  await dialog().getByText('The numbers, before and after').waitFor({ timeout: 240_000 });
  await dialog().getByRole('region', { name: 'Share of the light areas left dark' }).waitFor({ timeout: 240_000 });
  await press(button('Use these numbers'));
  await dialog().getByText('In use for this piece').waitFor();
}

describe('calibrating with a card', () => {
  test(
    'by mouse: job, photograph, fit; the band narrows, one undo takes it back, the shelf keeps it',
    async () => {
      await openSheet(byMouse);
      const card = await saveJob(byMouse);
      const photo = await photograph(card);
      await part('Read').click();
      await dialog().getByRole('radio', { name: 'Off a photograph' }).click();

      // No card: said in plain words, and nothing is read.
      await choosePhoto(byMouse, 'Open a photograph…', table);
      await dialog()
        .getByRole('alert')
        .getByText(/no card was found in the photo/i)
        .waitFor();
      expect(await dialog().getByRole('region', { name: 'Readings' }).count()).toBe(0);

      await choosePhoto(byMouse, 'Another photograph…', photo);
      await dialog()
        .getByText(/^Read\. Check the corners/)
        .waitFor();
      await dialog().getByRole('slider', { name: 'Corner mark, left top' }).waitFor();
      expect(await dialog().getByRole('table').getByRole('row').count()).toBe(card.patches.length + 1);

      // Another photo that is no card leaves the reading as it is.
      await choosePhoto(byMouse, 'Another photograph…', table);
      await dialog().getByRole('alert').waitFor();
      await dialog()
        .getByRole('region', { name: 'Readings' })
        .getByText(/off a photograph/)
        .waitFor();

      await button('Go on to the fit').click();
      await fitAndUse(byMouse);
      const [before, after] = [await band('Before'), await band('After')];
      expect(after[1] - after[0]).toBeLessThan(0.8 * (before[1] - before[0]));

      // Going back loses nothing.
      await part('Card').click();
      await dialog()
        .getByRole('img', { name: new RegExp(`Step wedge ${card.id} `) })
        .waitFor();
      await part('Shelf').click();
      await dialog().getByRole('textbox', { name: 'Keep it as' }).fill('Peat over oat');
      await button('Put on the shelf').click();
      const entry = dialog().getByRole('radio', { name: /Peat over oat/ });
      await entry.waitFor();
      await button('Remove').click();
      await entry.waitFor({ state: 'detached' });
      await button('Undo').click();
      await entry.waitFor();
      const [file] = await Promise.all([page.waitForEvent('download'), button('Save the shelf').click()]);
      const saved = importShelf(readFileSync(await file.path(), 'utf8'));
      expect(saved.shelf.entries.map(({ name }) => name)).toEqual(['Peat over oat']);

      // A file with a damaged entry: that one is refused, the other comes in.
      const [good] = saved.shelf.entries;
      const mixed = join(tools.folder, 'mixed.json');
      const entries = [
        { ...good, name: 'Second tin' },
        { ...good, name: 'Torn', machine: null },
      ];
      writeFileSync(mixed, JSON.stringify({ format: 'foreburn-shelf', version: 1, entries }));
      await choosePhoto(byMouse, 'Take in a file…', mixed);
      await dialog()
        .getByRole('alert')
        .getByText(/“Torn”: damaged: machine: must be /)
        .waitFor();
      expect(
        await dialog()
          .getByRole('radio', { name: /Second tin|Peat over oat/ })
          .count(),
      ).toBe(2);
      // And a newer one altogether.
      writeFileSync(mixed, JSON.stringify({ format: 'foreburn-shelf', version: 9, entries: [] }));
      await choosePhoto(byMouse, 'Take in a file…', mixed);
      await dialog()
        .getByRole('alert')
        .getByText(/newer Foreburn/)
        .waitFor();
      expect(
        await dialog()
          .getByRole('radio', { name: /Second tin|Peat over oat/ })
          .count(),
      ).toBe(2);

      // One undo on the page, and the piece is as uncalibrated as before.
      await button('Close').click();
      await page.getByRole('button', { name: 'Undo' }).click();
      await page.getByRole('button', { name: 'Calibrate with a card…' }).first().click();
      await dialog()
        .getByText(/This piece has uncalibrated numbers/)
        .waitFor();
      // The shelf is kept by the browser, and gives its numbers back.
      await page.reload();
      const open = page.getByRole('button', { name: 'Calibrate with a card…' });
      await page.getByRole('button', { name: 'Open piece…' }).waitFor();
      if (!(await open.isVisible())) await page.getByRole('button', { name: /^Passes/ }).click();
      await open.click();
      await part('Shelf').click();
      await dialog()
        .getByRole('radio', { name: /Peat over oat/ })
        .click();
      await button('Use for this piece').click();
      await dialog().getByRole('textbox', { name: 'Keep it as' }).waitFor();
      expect(tools.faults).toEqual([]);
    },
    LONG_MS,
  );

  test(
    'by keyboard: three keys on the rows of patches; nonsense is refused with the reason',
    async () => {
      await openSheet(byKeyboard);
      await saveJob(byKeyboard);
      await byKeyboard(button('It is burned: read it'));
      const patch = (question: string, label: number) =>
        dialog()
          .getByRole('radiogroup', { name: question })
          .getByRole('radio', { name: new RegExp(`^Patch ${label},`) });
      await byKeyboard(patch('First that shows', 9));
      await byKeyboard(patch('First that clears', 4));
      await byKeyboard(button('Keep this reading'));
      await dialog()
        .getByRole('alert')
        .getByText(/paint shows before it clears/)
        .waitFor();
      expect(await dialog().getByRole('region', { name: 'Readings' }).count()).toBe(0);
      // Undo by key takes the last choice back; then as it is on the wood.
      await page.keyboard.press('Control+z');
      await expect.poll(() => patch('First that clears', 4).getAttribute('aria-checked')).toBe('false');
      await byKeyboard(patch('First that shows', 4));
      await byKeyboard(patch('First that clears', 9));
      await byKeyboard(patch('First that scorches', 15));
      await byKeyboard(button('Keep this reading'));
      await fitAndUse(byKeyboard);
      await byKeyboard(button('Put it on the shelf'));
      await dialog().getByRole('textbox', { name: 'Keep it as' }).focus();
      await page.keyboard.type('By eye');
      await byKeyboard(button('Put on the shelf'));
      await dialog()
        .getByRole('radio', { name: /By eye/ })
        .waitFor();
      await page.keyboard.press('Escape');
      await dialog().waitFor({ state: 'detached' });
      expect(tools.faults).toEqual([]);
    },
    LONG_MS,
  );
});
