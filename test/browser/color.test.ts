import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Page } from 'playwright-core';
import sharp from 'sharp';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { colorDifference, type Lab, labToD50, labToLinearRgb } from '../../src/base/color/lab.ts';
import { encodeSrgbByte } from '../../src/base/color/srgb.ts';
import { browserPages } from '../helpers/browser-pages.ts';

const PAINT: Lab = [41, 9, 15];
const PAPER: Lab = [95, 0, 0];
const LAMP = [0.8, 0.68, 0.45];

let page: Page;
const tools = browserPages({
  name: 'color',
  serve: 'sources',
  context: { viewport: { width: 700, height: 1000 } },
  onPage: (made) => {
    page = made;
  },
});
const { faults, requests } = tools;

beforeEach(async () => {
  await page.goto(`${tools.url}test/browser/color-harness/index.html`);
  await page.getByRole('button', { name: 'By numbers or from a photograph' }).click({ timeout: 60_000 });
  requests.length = 0;
});
afterEach(() => {
  expect(faults).toEqual([]);
});

/** A painted square on the left, paper on the right, on a bench, under a warm lamp; the paper as bright as told. */
async function photograph(name: string, exposure = 1): Promise<string> {
  const of = (lab: Lab) => {
    const [r, g, b] = labToLinearRgb(lab).map((value, k) => encodeSrgbByte(value * LAMP[k] * exposure));
    return { r, g, b };
  };
  const field = (lab: Lab, left: number) => ({
    input: { create: { width: 640, height: 800, channels: 3 as const, background: of(lab) } },
    left,
    top: 200,
  });
  const path = join(tools.folder, name);
  await sharp({ create: { width: 1600, height: 1200, channels: 3, background: of([60, 8, 22]) } })
    .composite([field(PAINT, 80), field(PAPER, 880)])
    .png()
    .toFile(path);
  return path;
}

async function choose(path: string): Promise<void> {
  const [chooser] = await Promise.all([
    page.waitForEvent('filechooser'),
    page.getByRole('button', { name: 'From a photograph…' }).click(),
  ]);
  await chooser.setFiles(path);
}
const held = async (): Promise<{ lab: Lab; wanted: Lab | null }> =>
  JSON.parse((await page.locator('#held').textContent()) ?? 'null');
const take = () => page.getByRole('button', { name: 'Take this colour' });
const paintBox = () => page.getByRole('slider', { name: 'Rectangle over the painted patch' });
/** From one place on the picture to another, in shares of its size. */
async function drag(from: readonly [number, number], to: readonly [number, number]): Promise<void> {
  const sheet = page.locator('.patch-sheet');
  await sheet.scrollIntoViewIfNeeded();
  const bounds = await sheet.boundingBox();
  if (!bounds) throw new Error('the picture is not shown');
  await page.mouse.move(bounds.x + from[0] * bounds.width, bounds.y + from[1] * bounds.height);
  await page.mouse.down();
  await page.mouse.move(bounds.x + to[0] * bounds.width, bounds.y + to[1] * bounds.height, { steps: 4 });
  await page.mouse.up();
}
const fill = async (name: string, value: string) => {
  const field = page.getByRole('textbox', { name, exact: true });
  await field.fill(value);
  await field.press('Enter');
};

describe('a colour from a photograph', () => {
  test('is read under a warm lamp, taken over, and leaves the page to nobody', async () => {
    await choose(await photograph('bench.png'));
    await take().click();
    const { lab } = await held();
    // The bytes of an 8-bit picture are what is left of the difference.
    expect(colorDifference(lab, PAINT)).toBeLessThan(0.5);
    expect(requests.filter((url) => !url.startsWith(tools.url) && !url.startsWith('blob:'))).toEqual([]);
    expect(requests.some((url) => url.includes('bench'))).toBe(false);
  });

  test('follows the rectangle: by keys, with Shift its size, and drawn anew with the pointer', async () => {
    await choose(await photograph('keys.png'));
    await take().waitFor();
    await paintBox().focus();
    for (let i = 0; i < 15; i++) await page.keyboard.press('ArrowLeft');
    for (let i = 0; i < 5; i++) await page.keyboard.press('Shift+ArrowDown');
    expect(await paintBox().getAttribute('aria-valuetext')).toBe(
      '5 % from the left, 40 % from the top, 20 % wide, 25 % high',
    );
    await page.keyboard.press('Shift+ArrowRight');
    for (let i = 0; i < 10; i++) await page.keyboard.press('ArrowUp');
    // Far over the edge of the paint.
    for (let i = 0; i < 20; i++) await page.keyboard.press('ArrowUp');
    await page.getByText('The patch is uneven').waitFor();
    expect(await take().count()).toBe(0);

    // On bare picture below both rectangles, inside the paint.
    await drag([0.4, 0.8], [0.2, 0.7]);
    expect(await paintBox().getAttribute('aria-valuetext')).toMatch(/^(19|20|21) % from the left, (69|70|71) % /);
    await take().click();
    expect(colorDifference((await held()).lab, PAINT)).toBeLessThan(0.5);

    // Dragged itself it moves and keeps its size.
    const size = await paintBox().evaluate((box) => box.style.width);
    await drag([0.3, 0.75], [0.3, 0.25]);
    expect(await paintBox().getAttribute('aria-valuetext')).toMatch(/, (19|20|21) % from the top/);
    expect(await paintBox().evaluate((box) => box.style.width)).toBe(size);
  });

  test('a photograph taken with the camera on its side stands upright, with its proportions', async () => {
    const lying = await photograph('lying.png');
    const path = join(tools.folder, 'upright.jpg');
    // Turned a quarter clockwise to be looked at: the paint, on the left as stored, comes to lie on top.
    await sharp(lying).jpeg({ quality: 95, chromaSubsampling: '4:4:4' }).withMetadata({ orientation: 6 }).toFile(path);
    await choose(path);
    await page.locator('.patch-sheet canvas').waitFor();
    const size = await page
      .locator('.patch-sheet canvas')
      .evaluate((canvas) => [(canvas as HTMLCanvasElement).width, (canvas as HTMLCanvasElement).height]);
    expect(size).toEqual([900, 1200]);
    await drag([0.3, 0.15], [0.7, 0.35]);
    await page.getByRole('radio', { name: 'Reference' }).click();
    await drag([0.3, 0.65], [0.7, 0.85]);
    await page.getByText(/varies by ΔE 0/).waitFor();
    await take().click();
    expect(colorDifference((await held()).lab, PAINT)).toBeLessThan(1);
  });

  test('the kind of reference scales it; one that is typed in counts', async () => {
    await choose(await photograph('typed.png'));
    await take().waitFor();
    await page.getByRole('button', { name: /White paper or card/ }).click();
    await page.getByRole('option', { name: /Another neutral one/ }).click();
    await fill('Its lightness', '60');
    await page.getByText(/L\* 2\d\.\d/).waitFor();
    await take().click();
    // Taken for a grey of L* 60 the same picture is of a darker paint.
    expect((await held()).lab[0]).toBeLessThan(PAINT[0] - 10);
  });

  test('says what is wrong with a picture, and the way out', async () => {
    const path = join(tools.folder, 'notes.jpg');
    writeFileSync(path, 'not a picture at all');
    await choose(path);
    const alert = page.getByRole('alert');
    expect(await alert.textContent()).toMatch(/^“notes\.jpg” is .+\./);
    await choose(await photograph('bright.png', 1.6));
    await page.getByText('The reference is overexposed; photograph it again with less light.').waitFor();
    expect(await alert.count()).toBe(0);
  });
});

describe('a colour by numbers', () => {
  test('typed in under D50 it is kept under D65', async () => {
    await page.getByRole('radio', { name: 'D50' }).click();
    await fill('L*', '52.5');
    await fill('a*', '18');
    await fill('b*', '24');
    const { lab } = await held();
    const shown = labToD50(lab);
    for (const [i, value] of [52.5, 18, 24].entries()) expect(shown[i]).toBeCloseTo(value, 1);
    expect(Math.abs(lab[1] - 18)).toBeGreaterThan(0.5);
  });

  test('is told how far it is from the wanted tint, and from bark and wood', async () => {
    const kinship = page.getByRole('region', { name: 'Kinship' });
    expect(await kinship.textContent()).toBe('');
    await page.getByText('Compare with a wanted tint').click();
    await page.getByText('ΔE00 0.0 away: nobody sees a difference.').waitFor();
    const { wanted } = await held();
    await fill('b*', '-20');
    await page.getByText(/ΔE00 \d\d\.\d away: another colour\./).waitFor();
    expect((await held()).wanted).toEqual(wanted);
    expect(await kinship.textContent()).toContain('bluish');
  });
});
