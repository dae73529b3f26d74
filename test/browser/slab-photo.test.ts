import { join } from 'node:path';
import type { Page } from 'playwright-core';
import sharp, { type Sharp } from 'sharp';
import { beforeAll, beforeEach, describe, expect, test } from 'vitest';
import { browserPages } from '../helpers/browser-pages.ts';
import { CAMERA, corners, project, renderSlabPhoto, SLICE } from '../helpers/render-slab-photo.ts';

let page: Page;
const tools = browserPages({
  name: 'slab',
  view: false,
  context: { viewport: { width: 1440, height: 900 } },
  onPage: (made) => {
    page = made;
  },
});
const { faults } = tools;
let slice: string;
let blank: string;
let tiny: string;
const CORNERS = ['top left', 'top right', 'bottom right', 'bottom left'];
/** The box round the slab, its sides along the card's. */
const [TRUE_WIDTH, TRUE_HEIGHT] = [0, Math.PI / 2].map((turn) => {
  const heading = SLICE.card!.turnRad + turn;
  const along = SLICE.outline.map(([x, y]) => x * Math.cos(heading) + y * Math.sin(heading));
  return Math.max(...along) - Math.min(...along);
});
const CARD = corners(SLICE.card!).map((corner) => project(CAMERA, corner));

beforeAll(async () => {
  const { width, height, rgba } = renderSlabPhoto(SLICE, CAMERA);
  const raw = { width, height, channels: 4 } as const;
  slice = await saved('slice.jpg', sharp(rgba, { raw }).jpeg({ quality: 92 }));
  const plain = (size: number) =>
    sharp({ create: { width: size, height: size, channels: 3, background: '#8a8f91' } }).png();
  blank = await saved('table.png', plain(300));
  tiny = await saved('tiny.png', plain(40));
});
beforeEach(async () => {
  await page.goto(tools.url);
  await page.getByRole('button', { name: /^Slab/ }).click();
});

async function saved(name: string, image: Sharp): Promise<string> {
  const path = join(tools.folder, name);
  await image.toFile(path);
  return path;
}

const dialog = () => page.getByRole('dialog', { name: 'The slab from a photograph' });
const button = (name: string) => dialog().getByRole('button', { name, exact: true });
const mark = (name: string) => dialog().getByRole('slider', { name, exact: true });
const openDialog = () => page.getByRole('button', { name: 'From a photograph of the slab…' }).press('Enter');

async function openPhoto(path: string, name = 'Open a photograph…'): Promise<void> {
  const [chooser] = await Promise.all([page.waitForEvent('filechooser'), button(name).press('Enter')]);
  await chooser.setFiles(path);
}

/** Where a mark says it is, pixels of the photo. */
async function placeOf(name: string): Promise<[number, number]> {
  const [x, y] = ((await mark(name).getAttribute('aria-valuetext')) ?? '').match(/[\d.]+/g)!.map(Number);
  return [x, y];
}

/** Moves a mark with the arrow keys alone, long steps first. */
async function walk(name: string, to: readonly [number, number]): Promise<void> {
  await mark(name).focus();
  const from = await placeOf(name);
  for (const [axis, less, more] of [
    [0, 'ArrowLeft', 'ArrowRight'],
    [1, 'ArrowUp', 'ArrowDown'],
  ] as const) {
    const way = to[axis] - from[axis];
    const key = way < 0 ? less : more;
    const steps = Math.round(2 * Math.abs(way));
    for (let i = 0; i < Math.floor(steps / 20); i++) await page.keyboard.press(`Shift+${key}`);
    for (let i = 0; i < steps % 20; i++) await page.keyboard.press(key);
  }
  for (const [axis, is] of (await placeOf(name)).entries()) expect(Math.abs(is - to[axis])).toBeLessThanOrEqual(0.3);
}

const size = async (): Promise<number[]> =>
  (await dialog()
    .getByText(/^[\d.]+ mm × [\d.]+ mm$/)
    .textContent())!
    .match(/[\d.]+/g)!
    .map(Number);
const field = (name: string) => page.getByRole('textbox', { name, exact: true });

describe('the slab from a photograph', () => {
  test('by keyboard: marks, outline, a handle, take over; one undo brings the oval back', async () => {
    const before = Number(await field('Width').inputValue());
    await openDialog();
    await openPhoto(slice);
    await mark('Card, top left').waitFor();
    await dialog()
      .getByText(/^A card was found/)
      .waitFor();
    for (const [i, corner] of CORNERS.entries()) {
      const [x, y] = await placeOf(`Card, ${corner}`);
      expect(Math.hypot(x - CARD[i][0], y - CARD[i][1])).toBeLessThan(1);
      await walk(`Card, ${corner}`, CARD[i]);
    }
    await button('Find the outline').press('Enter');
    await button('Use this slab').waitFor({ timeout: 60_000 });
    // As the card lies; half a pixel at its corners is some 0.3 % of its length.
    const [width, height] = await size();
    expect(Math.abs(width / TRUE_WIDTH - 1)).toBeLessThan(0.008);
    expect(Math.abs(height / TRUE_HEIGHT - 1)).toBeLessThan(0.008);
    await dialog()
      .getByText(/^Knot, 1[78]/)
      .waitFor();
    await dialog()
      .getByRole('switch', { name: /^Tape off the rim, [67]/ })
      .waitFor();
    // The check is not wanted.
    await dialog()
      .getByRole('switch', { name: /^Drying check/ })
      .press('Space');

    // A handle on the right: 10 mm further out, and the box with it; the dialog's undo takes that back.
    const handles = await dialog().getByRole('slider').all();
    const at = await Promise.all(
      handles.map(async (one) => Number((await one.getAttribute('aria-valuetext'))!.split(' ')[0])),
    );
    await handles[at.indexOf(Math.max(...at))].focus();
    for (let i = 0; i < 2; i++) await page.keyboard.press('Shift+ArrowRight');
    expect((await size())[0]).toBeGreaterThan(width + 8);
    await page.keyboard.press('Control+z');
    expect(await size()).toEqual([width, height]);

    await button('Use this slab').press('Enter');
    await dialog().waitFor({ state: 'detached' });
    expect(Number(await field('Width').inputValue())).toBeCloseTo(width, 0);
    await page.getByRole('radio', { name: 'Drawn', checked: true }).waitFor();
    expect(await page.getByRole('button', { name: /^Knots/ }).textContent()).toContain('1');
    expect(await page.getByRole('button', { name: /^Drying checks/ }).textContent()).toContain('none');

    await page.keyboard.press('Control+z');
    await page.getByRole('radio', { name: 'Oval', checked: true }).waitFor();
    expect(Number(await field('Width').inputValue())).toBe(before);
    expect(faults).toEqual([]);
  });

  test('what goes wrong is said in a sentence; photo and marks stay, over closing and a reload', async () => {
    await openDialog();
    await openPhoto(tiny);
    await dialog().getByText('tiny.png is only 40 × 40 pixels').waitFor();
    await openPhoto(blank);
    await mark('Card, top left').waitFor();
    await walk('Card, top left', [60, 70]);
    await button('Find the outline').press('Enter');
    await dialog().getByText('Nothing in the photograph stands out').waitFor({ timeout: 60_000 });
    for (const [axis, is] of (await placeOf('Card, top left')).entries()) expect(is).toBeCloseTo([60, 70][axis], 0);

    // Top left beyond top right: the card is folded over.
    await walk('Card, top left', [290, 140]);
    await button('Find the outline').press('Enter');
    await dialog()
      .getByText(/The points cross: go round the corners in order/)
      .waitFor({ timeout: 60_000 });

    await dialog()
      .getByRole('button', { name: /What gives the scale/ })
      .press('Enter');
    await page.getByRole('option', { name: /^A ruler/ }).click();
    await field('Between the marks').fill('0');
    await button('Find the outline').press('Enter');
    await dialog().getByText('A length of 0 mm gives no scale.').waitFor();

    await page.keyboard.press('Escape');
    await dialog().waitFor({ state: 'detached' });
    await openDialog();
    await mark('Ruler, first mark').waitFor();
    await page.waitForTimeout(600);
    await page.reload();
    await openDialog();
    await mark('Ruler, first mark').waitFor();
    expect(await field('Between the marks').inputValue()).toBe('0');
    expect(faults).toEqual([]);
  });

  test('a pasted path becomes the outline; a crossing one is refused', async () => {
    await openDialog();
    await dialog()
      .getByRole('button', { name: /an outline already drawn/ })
      .press('Enter');
    await field('Path').fill('M 0 0 L 200 150 L 200 0 L 0 150 Z');
    await button('Use this path').press('Enter');
    await dialog()
      .getByText(/The outline crosses itself at 100\.0, 75\.0 mm/)
      .waitFor();
    await field('Path').fill('M 0 0 H 220 V 150 H 40 Z');
    await button('Use this path').press('Enter');
    await dialog().getByText('220 mm × 150 mm').waitFor();

    // A handle dragged across the far side: said in words, and not taken until it is put right.
    await mark('Outline, handle 1 of 16').focus();
    for (let i = 0; i < 5; i++) await page.keyboard.press('Shift+ArrowDown');
    for (let i = 0; i < 60; i++) await page.keyboard.press('Shift+ArrowRight');
    await dialog().getByRole('alert').getByText('The outline crosses itself where the ring is drawn').waitFor();
    expect(await button('Use this slab').isDisabled()).toBe(true);
    await page.keyboard.press('Control+z');
    await dialog().getByText('220 mm × 150 mm').waitFor();
    expect(await dialog().getByRole('alert').count()).toBe(0);
    await button('Use this slab').press('Enter');
    await dialog().waitFor({ state: 'detached' });
    expect(await field('Width').inputValue()).toBe('220');
    // A path says nothing about the wood: the demo slab's knot stays.
    expect(await page.getByRole('button', { name: /^Knots/ }).textContent()).toContain('1');
    expect(faults).toEqual([]);
  });
});
