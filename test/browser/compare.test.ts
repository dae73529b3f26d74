import { readFileSync } from 'node:fs';
import type { Page } from 'playwright-core';
import sharp from 'sharp';
import { describe, expect, test } from 'vitest';
import { createPiece } from '../../src/piece/defaults.ts';
import { encodePieceFile } from '../../src/piece/file.ts';
import { browserPages } from '../helpers/browser-pages.ts';

let page: Page;
const tools = browserPages({
  name: 'compare',
  demo: smallPiece,
  together: true,
  context: { viewport: { width: 1440, height: 900 }, acceptDownloads: true },
  onPage: (made) => {
    page = made;
  },
});
const { faults } = tools;

const bar = () => page.getByRole('region', { name: 'Proofs' });
const nowCard = () => bar().getByRole('button', { name: /^Now/ });
const card = (name: string) => bar().getByRole('button', { name: new RegExp(`^${name}\\b`) });
const done = () =>
  nowCard()
    .getByText(/· \d+ rows ·/)
    .waitFor({ timeout: 90_000 });

/** Half light, half dark, so small that its proof takes a moment. */
async function smallPiece(): Promise<Uint8Array> {
  const dark = {
    input: { create: { width: 60, height: 90, channels: 3 as const, background: '#101010' } },
    left: 0,
    top: 0,
  };
  const photo = await sharp({ create: { width: 120, height: 90, channels: 3, background: '#f0f0f0' } })
    .composite([dark])
    .jpeg()
    .toBuffer();
  const piece = createPiece('Small', 'small.jpg');
  const small = { ...piece, picture: { ...piece.picture, widthMm: 30 } };
  return encodePieceFile({ piece: small, images: new Map([['small.jpg', new Uint8Array(photo)]]) });
}

const lightEnd = () => page.getByRole('textbox', { name: 'Light-end power' }).first();

async function burnAt(percent: string): Promise<void> {
  const passes = page.getByRole('button', { name: /^Passes/ });
  if ((await passes.getAttribute('aria-expanded')) !== 'true') await passes.click();
  await lightEnd().fill(percent);
  await lightEnd().press('Enter');
  await nowCard().getByText(`${percent} / 8 %`).waitFor();
  await done();
}

const pin = () => page.getByRole('button', { name: 'Pin', exact: true }).click();

async function does(name: string, action: string): Promise<void> {
  await page.getByRole('button', { name: `What to do with ${name}` }).click();
  await page.getByRole('menuitem', { name: action }).click();
}

let opened = false;
/** The page with two proofs pinned, which all of these tests go on with. */
async function pinTwo(): Promise<void> {
  if (opened) return;
  opened = true;
  await page.goto(tools.url);
  await done();
  await burnAt('45');
  await pin();
  await burnAt('90');
  await pin();
}

const names = () => bar().locator('.pin .card-title').allTextContents();

async function download(button: string): Promise<Buffer> {
  const [file] = await Promise.all([page.waitForEvent('download'), page.getByRole('button', { name: button }).click()]);
  return readFileSync(await file.path());
}

describe('comparing proofs', () => {
  test('two are shown side by side instead of under the wipe', async () => {
    await pinTwo();
    await card('Proof 1').click();
    await card('Proof 2').click();
    const wipe = page.getByRole('slider', { name: /^Wipe/ });
    await wipe.waitFor();
    await page.getByRole('radio', { name: 'Side by side' }).click();
    await wipe.waitFor({ state: 'detached' });
    expect(await page.locator('.side-names span').allTextContents()).toEqual(['Proof 1', 'Proof 2']);
    await page.getByRole('radio', { name: 'Wipe' }).click();
    await wipe.waitFor();
    expect(faults).toEqual([]);
  });

  test('the table measures against a row, sorts, and is saved as text and as a picture', async () => {
    await pinTwo();
    await page.getByRole('button', { name: 'Table…' }).click();
    const row = (name: string) => page.getByRole('row', { name: new RegExp(`^${name}`) });
    const order = async () => (await page.locator('.comparison-proof b').allTextContents()).join(' ');
    await row('Proof 1').click();
    await page.getByText('measured against').waitFor();
    expect(await row('Proof 2').locator('.differs').first().textContent()).toBe('90+45');
    await page.getByRole('columnheader', { name: /^Light end/ }).click();
    expect((await order()).startsWith('Proof 1')).toBe(true);
    await page.getByRole('columnheader', { name: /^Light end/ }).click();
    expect((await order()).endsWith('Proof 1')).toBe(true);

    const csv = (await download('Save table')).toString('utf8');
    const [head, , first] = csv.split('\r\n').map((line) => line.split(','));
    expect(first[0]).toBe('Proof 1');
    expect(first[head.indexOf('Pass 1: Light end (%)')]).toBe('45');
    expect(Number(first[head.indexOf('Left dark (%)')])).toBeGreaterThan(50);

    const png = sharp(await download('Save as one picture'));
    const { width = 0, height = 0 } = await png.metadata();
    expect(width).toBeGreaterThan(2 * 300);
    const { data, info } = await png.removeAlpha().raw().toBuffer({ resolveWithObject: true });
    let dark = 0;
    for (let i = 0; i < data.length; i += info.channels) if (data[i] < 90 && data[i] > data[i + 2]) dark++;
    // The dark halves of both proofs, in the top coat's brown.
    expect(dark / (width * height)).toBeGreaterThan(0.12);
    await page.keyboard.press('Escape');
    await page.getByRole('dialog').waitFor({ state: 'detached' });
    expect(faults).toEqual([]);
  });

  test('a pin’s settings are taken back in one step of undo', async () => {
    await pinTwo();
    await burnAt('70');
    await does('Proof 1', 'Go back to these settings');
    await nowCard().getByText('45 / 8 %').waitFor();
    expect(await lightEnd().inputValue()).toBe('45');
    await page.getByRole('button', { name: 'Undo' }).click();
    await nowCard().getByText('70 / 8 %').waitFor();
    expect(faults).toEqual([]);
  });

  test('pins are named and put in order, and stay when the page is loaded again', async () => {
    await pinTwo();
    await does('Proof 1', 'Rename');
    const name = page.getByRole('textbox', { name: 'Name of the proof' });
    await name.fill('Weak');
    await name.press('Enter');
    expect(await names()).toEqual(['Weak', 'Proof 2']);
    await does('Weak', 'Move later');
    expect(await names()).toEqual(['Proof 2', 'Weak']);
    await card('Weak').focus();
    await page.keyboard.press('Alt+ArrowLeft');
    expect(await names()).toEqual(['Weak', 'Proof 2']);
    const uncleared = await card('Weak')
      .getByText(/left dark/)
      .textContent();

    await page.waitForTimeout(1000);
    await page.reload();
    await card('Weak').waitFor();
    expect(await names()).toEqual(['Weak', 'Proof 2']);
    expect(
      await card('Weak')
        .getByText(/left dark/)
        .textContent(),
    ).toBe(uncleared);
    await done();
    // Picked, it is computed again and comes out the same.
    await card('Weak').click();
    await bar().getByText('numbers only; pick it to see it').nth(1).waitFor({ state: 'detached', timeout: 90_000 });
    expect(
      await card('Weak')
        .getByText(/left dark/)
        .textContent(),
    ).toBe(uncleared);

    await does('Weak', 'Take off the bar');
    expect(await names()).toEqual(['Proof 2']);
    expect(faults).toEqual([]);
  });

  test('a grid over two settings is burned, saved, and one of its cells used', async () => {
    await pinTwo();
    const before = await names();
    await page.getByRole('button', { name: 'Grid…' }).click();
    await page.getByRole('application', { name: /^Crop at/ }).waitFor();
    const [across, down] = await page.getByRole('textbox', { name: /^Values/ }).all();
    await page.getByRole('button', { name: /Down/ }).click();
    await page.getByRole('option', { name: /^Feed/ }).click();
    await across.fill('30 90');
    await across.press('Enter');
    await down.fill('6000 7000 12000');
    await down.press('Enter');
    await page.getByRole('button', { name: 'Compute the grid: 2 × 3' }).click();
    await page.getByText(/^Took/).waitFor({ timeout: 90_000 });
    const cell = (name: string) => page.getByRole('button', { name: new RegExp(`^${name}`) });
    const shareOf = async (name: string) =>
      Number(/([\d.]+) % left dark/.exec((await cell(name).textContent()) ?? '')?.[1]);
    expect(await shareOf('30 %, 6000 mm/min')).toBeGreaterThan(50);
    expect(await shareOf('90 %, 6000 mm/min')).toBeLessThan(5);
    expect(await shareOf('90 %, 12000 mm/min')).toBeGreaterThan(await shareOf('90 %, 7000 mm/min'));
    const png = await sharp(await download('Save as one picture')).metadata();
    expect(png.height).toBeGreaterThan(400);

    await cell('30 %, 7000 mm/min').click();
    await page.getByRole('menuitem', { name: 'Pin' }).click();
    await cell('90 %, 7000 mm/min').click();
    await page.getByRole('menuitem', { name: 'Use these settings' }).click();
    await nowCard().getByText('7000 mm/min').waitFor();
    expect(await names()).toEqual([...before, '30 %, 7000 mm/min']);
    expect(faults).toEqual([]);
  });
});
