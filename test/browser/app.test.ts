import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Locator, Page } from 'playwright-core';
import sharp from 'sharp';
import { describe, expect, test } from 'vitest';
import { createPiece } from '../../src/piece/defaults.ts';
import { decodePieceFile, encodePieceFile } from '../../src/piece/file.ts';
import { browserPages } from '../helpers/browser-pages.ts';
import { goBack } from '../helpers/kept-page.ts';
import { readPngResolution } from '../helpers/png-resolution.ts';

let page: Page;
const tools = browserPages({
  name: 'browser',
  context: { viewport: { width: 1280, height: 800 }, acceptDownloads: true },
  onPage: (made) => {
    page = made;
  },
});
const { faults, requests } = tools;

const bar = () => page.getByRole('region', { name: 'Proofs' });
/** A finished proof shows its rows. */
const nowCard = () => bar().getByRole('button', { name: /^Now/ });
const proofDone = () =>
  nowCard()
    .getByText(/rows ·.* left dark/)
    .waitFor({ timeout: 240_000 });
const step = (name: string) => page.getByRole('button', { name: new RegExp(`^${name}`) });
const notice = () => page.getByRole('status', { name: 'Notice' });

/** A small piece, so that proofs take a moment only. */
async function smallPiece(): Promise<Buffer> {
  const photo = await sharp({
    create: { width: 120, height: 90, channels: 3, background: { r: 240, g: 240, b: 240 } },
  })
    .composite([{ input: { create: { width: 60, height: 90, channels: 3, background: '#101010' } }, left: 0, top: 0 }])
    .jpeg()
    .toBuffer();
  const piece = createPiece('Small', 'small.jpg');
  const small = { ...piece, picture: { ...piece.picture, widthMm: 30 } };
  return Buffer.from(encodePieceFile({ piece: small, images: new Map([['small.jpg', new Uint8Array(photo)]]) }));
}

async function choose(button: string, path: string): Promise<void> {
  const [chooser] = await Promise.all([
    page.waitForEvent('filechooser'),
    page.getByRole('button', { name: button }).click(),
  ]);
  await chooser.setFiles(path);
}

const isOpen = () =>
  page.getByRole('textbox', { name: 'Name of the piece' }).and(page.locator('[value="Small"]')).waitFor();
/** In the demo piece's place, so that nothing else is begun. */
async function openSmall(): Promise<void> {
  tools.openOn(await smallPiece());
  await page.goto(tools.url);
  await isOpen();
}

async function setLightEnd(percent: string): Promise<void> {
  if ((await step('Passes').getAttribute('aria-expanded')) !== 'true') await step('Passes').click();
  const field = page.getByRole('textbox', { name: 'Light-end power' }).first();
  await field.fill(percent);
  await field.press('Enter');
}

async function download(button: string): Promise<Buffer> {
  const [file] = await Promise.all([page.waitForEvent('download'), page.getByRole('button', { name: button }).click()]);
  return readFileSync(await file.path());
}

describe('the page', () => {
  test('opens on the demo piece with its proof, without talking to anyone else', async () => {
    await page.goto(tools.url);
    await proofDone();
    expect(await page.getByRole('textbox', { name: 'Name of the piece' }).inputValue()).toBe('Hollin Reach');
    expect(
      requests.filter((url) => !url.startsWith(tools.url) && !url.startsWith('blob:') && !url.startsWith('data:')),
    ).toEqual([]);
    expect(faults).toEqual([]);
  });

  test('offers nothing to change before the piece is there, and says when it cannot come', async () => {
    let release = () => {};
    const late = new Promise<void>((resolve) => {
      release = resolve;
    });
    await page.route('**/demo/*.foreburn', async (route) => {
      await late;
      await route.fulfill({ status: 503 });
    });
    await page.goto(tools.url);
    await page.getByText('Opening the piece…').waitFor();
    expect(await page.getByRole('textbox').count()).toBe(0);
    release();
    await notice().getByText('The demo piece cannot be loaded (status 503).').waitFor();
    expect(await page.getByRole('textbox').count()).toBeGreaterThan(0);
    await page.getByText('Opening the piece…').waitFor({ state: 'detached' });
  });

  test('a change of power gives another proof; pinned ones are compared under the wipe', async () => {
    await openSmall();
    await setLightEnd('45');
    await bar().getByText('45 / 8 %').waitFor();
    await proofDone();
    await page.getByRole('button', { name: 'Pin', exact: true }).click();
    await setLightEnd('90');
    await nowCard().getByText('90 / 8 %').waitFor();
    await proofDone();
    const shares = await bar()
      .getByText(/left dark/)
      .allTextContents();
    const [now, pinned] = shares.map((text) => Number(/([\d.]+) % left dark/.exec(text)?.[1]));
    // Weak power leaves residue in the light half, strong power does not.
    expect(now).toBeLessThan(5);
    expect(pinned).toBeGreaterThan(60);

    await bar()
      .getByRole('button', { name: /^Proof 1/ })
      .click();
    await bar().getByRole('button', { name: /^Now/ }).click();
    await page.getByRole('slider', { name: /wipe|divid/i }).waitFor();
    expect(
      await bar()
        .getByRole('button', { name: /^Now right of the wipe/ })
        .count(),
    ).toBe(1);
    expect(faults).toEqual([]);
  });

  test('the lamp is moved with the keys', async () => {
    await openSmall();
    const lamp = page.getByRole('slider', { name: /lamp/i }).first();
    const before = await lamp.getAttribute('aria-valuetext');
    await lamp.focus();
    await page.keyboard.press('ArrowDown');
    await page.keyboard.press('ArrowRight');
    await expect.poll(() => lamp.getAttribute('aria-valuetext')).not.toBe(before);
  });

  test('a piece is opened from a file; its pictures and itself are handed over', async () => {
    await page.goto(tools.url);
    const path = join(tools.folder, 'small.foreburn');
    writeFileSync(path, await smallPiece());
    await choose('Open piece…', path);
    await isOpen();
    // Its own rows, not those of the demo piece that was there before.
    await nowCard()
      .getByText(/· 225 rows ·/)
      .waitFor({ timeout: 90_000 });
    await step('Hand over').click();
    await page.getByRole('button', { name: 'Pictures and numbers' }).click();
    const png = await download('Save the proof as PNG');
    expect(readPngResolution(new Uint8Array(png))).toEqual({ x: 10, y: 10 });
    const { width, height } = await sharp(png).metadata();
    expect([width, height]).toEqual([300, 225]);
    const map = await sharp(await download('Save the map of places left dark')).metadata();
    expect(map.width).toBe(300);
    await goBack(page);
    const { piece, images } = decodePieceFile(new Uint8Array(await download('Save the piece')));
    expect(piece.picture.widthMm).toBe(30);
    expect(images.has('small.jpg')).toBe(true);
    await page.getByRole('button', { name: 'Pictures and numbers' }).click();
    const report = JSON.parse((await download('Save the numbers')).toString('utf8'));
    expect(report.burnTimeS).toBeGreaterThan(0);
    expect(report.settings.name).toBe('Small');
  });

  test('work survives a reload, and is undone and redone', async () => {
    await openSmall();
    await setLightEnd('61');
    await proofDone();
    // At once: what was changed last is not lost either.
    await setLightEnd('62');
    await nowCard().getByText('62 / 8 %').waitFor();
    await page.reload();
    await proofDone();
    expect(await page.getByRole('textbox', { name: 'Name of the piece' }).inputValue()).toBe('Small');
    await bar().getByText('62 / 8 %').waitFor();
    await setLightEnd('77');
    await bar().getByText('77 / 8 %').waitFor();
    await page.getByRole('button', { name: 'Undo' }).click();
    await bar().getByText('62 / 8 %').waitFor();
    await page.getByRole('button', { name: 'Redo' }).click();
    await bar().getByText('77 / 8 %').waitFor();
  });

  test('every control can be moved, and the proof follows', async () => {
    // Each of them has the slab drawn anew: the smaller, the sooner.
    await page.setViewportSize({ width: 1024, height: 600 });
    await openSmall();
    let sliderCount = 0;
    /** Moves all that lies in a place and in the pages that it keeps besides. */
    const moveAll = async (place: Locator, name: string): Promise<void> => {
      const sliders = place.locator('.value-slider input[type="range"]');
      sliderCount += await sliders.count();
      for (let i = 0; i < (await sliders.count()); i++) {
        const slider = sliders.nth(i);
        const before = await slider.inputValue();
        await slider.focus();
        await page.keyboard.press(before === (await slider.getAttribute('max')) ? 'ArrowLeft' : 'ArrowRight');
        await expect.poll(() => slider.inputValue(), { message: `${name}: slider ${i}` }).not.toBe(before);
      }
      const points = place.locator('.curve-point');
      for (let i = 0; i < (await points.count()); i++) {
        await points.nth(i).focus();
        await page.keyboard.press(i === 0 ? 'ArrowUp' : 'ArrowDown');
      }
      for (const choice of await place.locator('.choice-button').all()) {
        await choice.click();
        await page.getByRole('option').last().click();
      }
      const folds = place.locator('.more-button');
      for (let i = 0; i < (await folds.count()); i++) {
        await folds.nth(i).click();
        const onPage = page.locator('.more-page').last();
        await moveAll(onPage, `${name}, page ${i}`);
        await onPage.locator('.page-back').click();
      }
    };
    for (const name of ['Slab', 'Coats', 'Picture', 'Passes', 'Proof', 'Hand over']) {
      await step(name).click();
      expect(await step(name).getAttribute('aria-expanded')).toBe('true');
      await moveAll(page.locator('.step-body'), name);
    }
    // What is kept on pages was opened: the machine's controls alone are a dozen.
    expect(sliderCount).toBeGreaterThan(50);
    await proofDone();
    await step('Coats').click();
    for (let i = 0; i < 2; i++) await page.getByRole('button', { name: 'Remove' }).first().click();
    await page.getByText('Bare wood: the beam darkens it').waitFor();
    // The tone ends changed places, and the page says so.
    await expect.poll(() => notice().textContent()).toMatch(/changed places/);
    await proofDone();
    expect(faults).toEqual([]);
    // Some hundred controls, each with the quick look that follows.
  }, 600_000);

  test('a photograph is dropped on the page', async () => {
    await openSmall();
    const png = await sharp({ create: { width: 40, height: 30, channels: 3, background: '#ddd' } })
      .png()
      .toBuffer();
    const path = join(tools.folder, 'dropped.png');
    writeFileSync(path, png);
    // The browser's own drag: made-up events carry no files that a page may read.
    const client = await page.context().newCDPSession(page);
    const data = { items: [], files: [path], dragOperationsMask: 1 };
    for (const type of ['dragEnter', 'dragOver', 'drop'] as const) {
      await client.send('Input.dispatchDragEvent', { type, x: 800, y: 300, data });
    }
    // In place of the demo it begins a piece of its own, named after it.
    await page.getByText('dropped.png, 40 × 30 pixels').waitFor({ timeout: 10_000 });
    await page.getByRole('button', { name: 'See the proof' }).click();
    expect(await page.getByRole('textbox', { name: 'Name of the piece' }).inputValue()).toBe('dropped');
    await proofDone();
  });

  test('bad files are named with the reason, and what is open stays open', async () => {
    await openSmall();
    await step('Picture').click();
    const cmyk = await sharp({ create: { width: 8, height: 8, channels: 3, background: '#888' } })
      .toColourspace('cmyk')
      .jpeg()
      .toBuffer();
    const tiff = await sharp({ create: { width: 8, height: 8, channels: 3, background: '#888' } })
      .tiff({ compression: 'jpeg' })
      .toBuffer();
    const png = await sharp({ create: { width: 64, height: 64, channels: 3, background: '#888' } })
      .png()
      .toBuffer();
    const bad: [string, Uint8Array, RegExp][] = [
      ['note.jpg', Buffer.from('not a picture at all'), /note\.jpg .*not/],
      ['empty.png', new Uint8Array(0), /empty\.png .*empty/],
      ['cut.png', png.subarray(0, png.length - 20), /cut\.png /],
      ['press.jpg', cmyk, /press\.jpg .*CMYK/],
      ['scan.tif', tiff, /scan\.tif .*TIFF/],
    ];
    for (const [name, bytes, message] of bad) {
      const path = join(tools.folder, name);
      writeFileSync(path, bytes);
      await choose('Open a photograph…', path);
      await expect.poll(() => notice().textContent(), { timeout: 10_000 }).toMatch(message);
      await page.getByText('small.jpg, 120 × 90 pixels').waitFor();
    }
    const piece = createPiece('x', 'y.jpg');
    const wrong: [string, unknown, RegExp][] = [
      ['odd.json', { ...piece, colour: 'red' }, /odd\.json .*unknown field "colour"/],
      ['later.json', { ...piece, version: 99 }, /later\.json .*newer/],
      [
        'absurd.json',
        { ...piece, passes: [{ ...piece.passes[0], lightEndPower: 17 }] },
        /passes\[0\]\.lightEndPower: must be a number from 0 to 1, got 17/,
      ],
    ];
    for (const [name, json, message] of wrong) {
      const path = join(tools.folder, name);
      writeFileSync(path, JSON.stringify(json));
      await choose('Open piece…', path);
      await expect.poll(() => notice().textContent(), { timeout: 10_000 }).toMatch(message);
      expect(await page.getByRole('textbox', { name: 'Name of the piece' }).inputValue()).toBe('Small');
    }
  });
});
