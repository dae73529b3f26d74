import { dirname, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { Browser, Page } from 'playwright-core';
import { createServer, type ViteDevServer } from 'vite';
import { afterAll, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import type { ProofSurface } from '../../src/view/proof-surface.ts';
import { launchChromium } from '../helpers/chromium.ts';
import { expectPicture, readPng } from './compare.ts';

const root = resolve(dirname(fileURLToPath(import.meta.url)), '../..');
const SMALL = { widthMm: 256, heightMm: 200, pitchMm: 0.64, strength: 0.95, seed: 3, crop: 'oval' as const };
const LOW_LAMP = { azimuthRad: (305 * Math.PI) / 180, elevationRad: (18 * Math.PI) / 180 };

declare global {
  interface Window {
    /** Set by a test: hands the view the rest of a surface. */
    __whole?: () => void;
  }
}

let server: ViteDevServer;
let browser: Browser;
let page: Page;

beforeAll(async () => {
  server = await createServer({
    root,
    logLevel: 'error',
    server: { port: 0, hmr: false },
    cacheDir: 'node_modules/.vite-image',
  });
  await server.listen();
  browser = await launchChromium();
});

afterAll(async () => {
  await browser?.close();
  await server?.close();
});

beforeEach(async () => {
  await page?.close();
  page = await browser.newPage({
    viewport: { width: 480, height: 360 },
    deviceScaleFactor: 1,
    reducedMotion: 'reduce',
  });
  const address = server.httpServer?.address();
  const port = typeof address === 'object' && address ? address.port : 0;
  await page.goto(`http://localhost:${port}/test/image/harness/index.html`);
  await page.waitForFunction(() => window.__harness?.handle && window.__harness.frames.length > 0);
});

/** Waits until nothing has been drawn for a while: surfaces are sent, the camera stands. */
async function calm(): Promise<void> {
  let seen = -1;
  for (let i = 0; i < 40; i++) {
    const drawn = await page.evaluate(() => window.__harness.frames.length);
    if (drawn === seen) return;
    seen = drawn;
    await page.waitForTimeout(500);
  }
  throw new Error('The view does not come to rest.');
}

async function capture(): Promise<Uint8Array> {
  await calm();
  const base64 = await page.evaluate(async () => {
    const blob = await window.__harness.handle!.capture({ pixelRatio: 1 });
    const bytes = new Uint8Array(await blob.arrayBuffer());
    return btoa(Array.from(bytes, (byte) => String.fromCharCode(byte)).join(''));
  });
  return Buffer.from(base64, 'base64');
}

const showSmall = (): Promise<void> =>
  page.evaluate((options) => {
    const surface = window.__harness.fabricate(options);
    window.__harness.set({ surfaces: { left: surface, right: null } });
  }, SMALL);

describe('the slab under the lamp', () => {
  it('looks as before', async () => {
    await showSmall();
    await page.evaluate((lamp) => window.__harness.set({ lamp }), LOW_LAMP);
    expectPicture('slab-low-lamp', await capture());
  });

  it('shows marks and two proofs as before', async () => {
    await page.evaluate((options) => {
      const { fabricate, set } = window.__harness;
      const left = fabricate({ ...options, strength: 1.25 });
      const right = fabricate({ ...options, strength: 0.75 });
      set({ surfaces: { left, right }, wipe: 0.5, overlays: { uncleared: true, scorched: true } });
    }, SMALL);
    expectPicture('slab-wipe-marks', await capture());
  });

  it('gives every proof colour back in even light', async () => {
    // Broad flat patches, so that the middle of each can be read on the screen: a scale of greys and a few paints.
    const patches = [
      [225, 217, 196],
      [82, 70, 61],
      [128, 128, 128],
      [190, 190, 190],
      [150, 105, 70],
      [96, 120, 140],
    ];
    await page.evaluate((colors) => {
      const width = 60;
      const height = 40;
      const color = new Uint8Array(width * height * 4);
      for (let y = 0; y < height; y++) {
        for (let x = 0; x < width; x++) {
          color.set(colors[Math.floor(x / 20) + 3 * Math.floor(y / 20)], 4 * (y * width + x));
        }
      }
      const relief = new Uint16Array(width * height * 2);
      const strips = [{ y0: 0, rows: height, color, relief }];
      const left: ProofSurface = { id: 'patches', width, height, pitchMm: 3, strips, complete: true, version: 1 };
      window.__harness.set({
        surfaces: { left, right: null },
        picture: { centreXMm: 0, centreYMm: 0, widthMm: 180, heightMm: 120, crop: 'rectangle' },
        lighting: 'dome',
      });
    }, patches);
    const picture = readPng(await capture());
    // Where the middles of the patches are on the screen: asked of the view by moving the pointer.
    for (const [i, color] of patches.entries()) {
      const wanted = { xMm: 30 + 60 * (i % 3), yMm: 30 + 60 * Math.floor(i / 3) };
      const at = await findOnScreen(wanted);
      const offset = (at.y * picture.width + at.x) * picture.channels;
      for (let c = 0; c < 3; c++) {
        expect(Math.abs(picture.data[offset + c] - color[c]), `patch ${i}, channel ${c}`).toBeLessThanOrEqual(2);
      }
    }
  });

  it('keeps showing the coarse proof until the fine one is whole', async () => {
    await showSmall();
    const coarse = await capture();
    await page.evaluate((options) => {
      const whole = window.__harness.fabricate({ ...options, pitchMm: 0.32, strength: 0.6 });
      const part = { ...whole, strips: whole.strips.slice(0, 2), complete: false };
      window.__harness.set({ surfaces: { left: part, right: null } });
      setTimeout(() => {
        window.__whole = () => window.__harness.set({ surfaces: { left: { ...whole, version: 2 }, right: null } });
      }, 300);
    }, SMALL);
    await page.waitForFunction(() => window.__whole);
    expect(Buffer.compare(await capture(), coarse)).toBe(0);
    await page.evaluate(() => window.__whole!());
    expect(Buffer.compare(await capture(), coarse)).not.toBe(0);
  });

  it('draws the same again after it lost its graphics context', async () => {
    await showSmall();
    const before = readPng(await capture());
    await page.evaluate(async () => {
      const canvas = document.querySelector('canvas')!;
      const lose = canvas.getContext('webgl2')!.getExtension('WEBGL_lose_context')!;
      const back = new Promise((done) => canvas.addEventListener('webglcontextrestored', done, { once: true }));
      lose.loseContext();
      await new Promise((done) => setTimeout(done, 100));
      lose.restoreContext();
      await back;
    });
    await page.waitForTimeout(500);
    const after = readPng(await capture());
    let different = 0;
    for (let i = 0; i < before.data.length; i++) if (Math.abs(before.data[i] - after.data[i]) > 2) different += 1;
    expect(different / before.data.length).toBeLessThan(0.001);
    // Not just both empty: the picture has darks and lights.
    let darkest = 255;
    let lightest = 0;
    for (let i = 0; i < after.data.length; i += after.channels) {
      darkest = Math.min(darkest, after.data[i]);
      lightest = Math.max(lightest, after.data[i]);
    }
    expect(lightest - darkest).toBeGreaterThan(120);
  });
});

/** The screen pixel whose probe is nearest to a point of the picture, by a few Newton-like steps. */
async function findOnScreen(wanted: { xMm: number; yMm: number }): Promise<{ x: number; y: number }> {
  let x = 240;
  let y = 180;
  for (let i = 0; i < 12; i++) {
    await page.mouse.move(x, y);
    const probe = await page.evaluate(() => window.__harness.probe);
    if (!probe) throw new Error(`no probe at ${x}, ${y}`);
    const dx = wanted.xMm - probe.xMm;
    const dy = wanted.yMm - probe.yMm;
    if (Math.hypot(dx, dy) < 1.5) break;
    x = Math.round(x + dx * 0.9);
    y = Math.round(y + dy * 0.9);
  }
  return { x, y };
}
