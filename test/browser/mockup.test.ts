import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import type { Download, Page } from 'playwright-core';
import sharp from 'sharp';
import { describe, expect, test, vi } from 'vitest';
import { createPiece } from '../../src/piece/defaults.ts';
import { encodePieceFile } from '../../src/piece/file.ts';
import { browserPages } from '../helpers/browser-pages.ts';

const NAME = '<script>window.reached = 1</script><img src="https://example.invalid/x.png">';
/** Software draws everything here: a busy machine takes its time. */
const PATIENCE_MS = 300_000;
vi.setConfig({ testTimeout: 2 * PATIENCE_MS });

let page: Page;
const tools = browserPages({
  name: 'mockup',
  context: { viewport: { width: 1000, height: 700 }, acceptDownloads: true, reducedMotion: 'reduce' },
  onPage: (made) => {
    page = made;
  },
});
const { faults, requests } = tools;

/** A small piece on a small slab whose name is not to be trusted; its right half is dark. */
async function smallPiece(passes: number): Promise<Uint8Array> {
  const photo = await sharp({ create: { width: 120, height: 90, channels: 3, background: '#f0f0f0' } })
    .composite([{ input: { create: { width: 60, height: 90, channels: 3, background: '#101010' } }, left: 60, top: 0 }])
    .jpeg()
    .toBuffer();
  const piece = createPiece(NAME, 'small.jpg');
  const small = {
    ...piece,
    slab: { ...piece.slab, shape: 'rectangle' as const, widthMm: 50, heightMm: 40, knots: [], checks: [] },
    picture: { ...piece.picture, widthMm: 30 },
    passes: Array.from({ length: passes }, () => piece.passes[0]),
  };
  return encodePieceFile({ piece: small, images: new Map([['small.jpg', new Uint8Array(photo)]]) });
}

async function openSmall(passes = 1): Promise<void> {
  tools.openOn(await smallPiece(passes));
  await page.goto(tools.url);
  await page
    .getByRole('region', { name: 'Proofs' })
    .getByRole('button', { name: /^Now/ })
    .getByText(/· [2-5]\d\d rows ·/)
    .waitFor({ timeout: PATIENCE_MS });
  await page.getByRole('button', { name: /^Hand over/ }).click();
}

const drawn = (selector: string) => page.locator(`${selector}[data-drawn]`).waitFor({ timeout: PATIENCE_MS });

async function save(button: string): Promise<Download> {
  const [file] = await Promise.all([
    page.waitForEvent('download', { timeout: PATIENCE_MS }),
    page.getByRole('button', { name: button, exact: true }).click({ timeout: PATIENCE_MS }),
  ]);
  return file;
}

describe('the mock-up', () => {
  test('gives a still, a model, and a file that opens from disk and asks nobody for anything', async () => {
    await openSmall();
    await page.getByRole('button', { name: /^For the client/ }).click();
    await page.getByRole('button', { name: 'Open the mock-up' }).click();
    await drawn('.mockup-view canvas');
    // A graphics card that goes and comes back: the mock-up is drawn anew, by itself.
    await page.locator('.mockup-view canvas').evaluate(async (canvas: HTMLCanvasElement) => {
      const lose = canvas.getContext('webgl2')!.getExtension('WEBGL_lose_context')!;
      const lost = new Promise((done) => canvas.addEventListener('webglcontextlost', done, { once: true }));
      lose.loseContext();
      await lost;
      delete canvas.dataset['drawn'];
      setTimeout(() => lose.restoreContext(), 100);
    });
    await drawn('.mockup-view canvas');

    const model = readFileSync(await (await save('Save a model (GLB)')).path());
    expect(model.subarray(0, 4).toString('latin1')).toBe('glTF');

    await page.getByRole('button', { name: /4000 × 3000/ }).click();
    await page.getByRole('option', { name: /1600 × 1200/ }).click();
    const still = await sharp(await (await save('Save a still (JPEG)')).path());
    expect(await still.metadata()).toMatchObject({ format: 'jpeg', width: 1600, height: 1200 });
    // Not one even grey: wall, wood and slab differ.
    expect((await still.stats()).channels[1].stdev).toBeGreaterThan(15);

    const file = join(tools.folder, 'client.html');
    await (await save('Save a file for the client')).saveAs(file);
    expect(readFileSync(file).length).toBeLessThan(6_000_000);
    expect(faults).toEqual([]);

    requests.length = 0;
    await page.goto(pathToFileURL(file).href);
    await page.locator('#picture[data-drawn="finished"]').waitFor({ timeout: PATIENCE_MS });
    expect(requests.filter((address) => !address.startsWith('data:'))).toEqual([pathToFileURL(file).href]);
    expect(await page.locator('h1').textContent()).toBe(NAME);
    expect(await page.title()).toBe(NAME);
    expect(await page.evaluate(() => 'reached' in window)).toBe(false);
    expect(faults).toEqual([]);

    const look = () => page.locator('#picture').screenshot({ timeout: PATIENCE_MS });
    const before = await look();
    // Kept by the page itself: what moves may be finished before anybody outside looks.
    await page.locator('#picture').evaluate((picture) => {
      const states: (string | undefined)[] = [];
      Object.assign(window, { states });
      new MutationObserver(() => states.push(picture.dataset['drawn'])).observe(picture, {
        attributeFilter: ['data-drawn'],
      });
    });
    await page.locator('#picture').focus();
    await page.keyboard.press('ArrowRight');
    const states = () => page.evaluate(() => (window as unknown as { states: string[] }).states);
    await expect.poll(states, { timeout: PATIENCE_MS }).toContain('moving');
    await expect.poll(async () => (await states()).at(-1), { timeout: PATIENCE_MS }).toBe('finished');
    expect((await look()).equals(before)).toBe(false);

    // Where no program runs there is a picture.
    const plain = await page.context().browser()!.newContext({ javaScriptEnabled: false });
    const shown = await plain.newPage();
    await shown.goto(pathToFileURL(file).href);
    expect(await shown.locator('#still').isVisible()).toBe(true);
    expect(await shown.locator('#picture').isVisible()).toBe(false);
    await plain.close();
  });
});

describe('the burn', () => {
  test('can be gone through by keys, pass by pass, and tells what a stop does', async () => {
    await openSmall(2);
    await page.getByRole('button', { name: /^Watch it burn/ }).click();
    await page.getByRole('button', { name: 'Open the burn' }).click();
    await drawn('.burn-view canvas');
    const slider = page.getByRole('slider', { name: 'Time of the burn, s' });
    await slider.focus();
    await expect.poll(() => slider.getAttribute('aria-valuetext')).toMatch(/^Pass 1 of 2, 0:00/);
    await page.keyboard.press('End');
    await expect.poll(() => slider.getAttribute('aria-valuetext')).toMatch(/^Pass 2 of 2.*done$/);
    await page.keyboard.press('ArrowLeft');
    await expect.poll(() => slider.getAttribute('aria-valuetext')).toMatch(/0:0\d left$/);
    await page.getByRole('button', { name: /^Show what a stop at minute/ }).click();
    await page
      .getByText(/^A stop of 30 min after minute/)
      .first()
      .waitFor({ timeout: PATIENCE_MS });
    expect(faults).toEqual([]);
  });
});
