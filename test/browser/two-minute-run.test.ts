import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Locator, Page } from 'playwright-core';
import sharp from 'sharp';
import { beforeAll, beforeEach, describe, expect, test } from 'vitest';
import { decodePieceFile } from '../../src/piece/file.ts';
import type { Piece } from '../../src/piece/schema.ts';
import { browserPages } from '../helpers/browser-pages.ts';
import { fadedPortrait } from '../helpers/faded-portrait.ts';
import { keptPiece } from '../helpers/kept.ts';
import { CAMERA, corners, project, renderSlabPhoto, SLICE } from '../helpers/render-slab-photo.ts';
import { coarseDemo } from '../helpers/small-demo.ts';

let page: Page;
const tools = browserPages({
  name: 'run',
  demo: 'coarse',
  context: { viewport: { width: 1280, height: 800 }, acceptDownloads: true },
  onPage: (made) => {
    page = made;
  },
});
const { faults } = tools;
let slabPhoto: string;
let portrait: string;
const CARD = corners(SLICE.card!).map((corner) => project(CAMERA, corner));
const MARKS = ['top left', 'top right', 'bottom right', 'bottom left'].map((corner) => `Card, ${corner}`);

beforeAll(async () => {
  const { rgba, ...size } = renderSlabPhoto(SLICE, CAMERA);
  slabPhoto = join(tools.folder, 'slab.jpg');
  await sharp(rgba, { raw: { ...size, channels: 4 } })
    .jpeg({ quality: 92 })
    .toFile(slabPhoto);
  const { rgb, ...area } = fadedPortrait();
  portrait = join(tools.folder, 'great-aunt.jpg');
  await sharp(rgb, { raw: { ...area, channels: 3 } })
    .jpeg({ quality: 90 })
    .toFile(portrait);
});

/** Finding an outline takes seconds, on a busy machine many. */
const PATIENCE = { timeout: 90_000 };

/** The piece as it is kept, after each step; a burst of changes is one step of undo, so a step is left to end. */
let steps: Piece[] = [];
let times: string[] = [];
let began = 0;
const STEP_MS = 700;
const { piece: demo } = decodePieceFile(coarseDemo());
/** The demo is not kept before it is changed. */
const kept = async (): Promise<Piece> => (await keptPiece(page)) ?? demo;
async function step(name: string): Promise<void> {
  await page.waitForTimeout(STEP_MS);
  times.push(`${name} ${((performance.now() - began) / 1000).toFixed(0)} s`);
  await expect.poll(kept, { ...PATIENCE, message: 'the step changes the piece' }).not.toEqual(steps.at(-1));
  // What was written in the middle of it is followed by the rest.
  await page.waitForTimeout(STEP_MS);
  steps.push(await kept());
}

beforeEach(async () => {
  await page.goto(tools.url);
  await page.getByRole('textbox', { name: 'Name of the piece' }).waitFor(PATIENCE);
  steps = [await kept()];
  times = [];
  began = performance.now();
});

const dialog = () => page.getByRole('dialog', { name: 'The slab from a photograph' });
const mask = () => page.getByRole('dialog', { name: 'Mask' });
const button = (name: string | RegExp, within: Page | Locator = page) => within.getByRole('button', { name });
const mark = (name: string) => dialog().getByRole('slider', { name, exact: true });
const frame = () => page.getByRole('application', { name: /Arrow keys move it/ });
const field = (name: string) => page.getByRole('textbox', { name, exact: true });

async function choose(open: () => Promise<void>, path: string): Promise<void> {
  const [chooser] = await Promise.all([page.waitForEvent('filechooser'), open()]);
  await chooser.setFiles(path);
}

/** Goes back through every step and forth again, by keys or by the buttons. */
async function undoAndRedo(undo: () => Promise<void>, redo: () => Promise<void>): Promise<void> {
  for (let i = steps.length - 2; i >= 0; i--) {
    await undo();
    await expect.poll(kept, { ...PATIENCE, message: `undo to step ${i}` }).toEqual(steps[i]);
  }
  for (let i = 1; i < steps.length; i++) {
    await redo();
    await expect.poll(kept, { ...PATIENCE, message: `redo to step ${i}` }).toEqual(steps[i]);
  }
}

async function reload(): Promise<void> {
  await page.reload();
  await page.getByText('great-aunt.jpg, 640 × 800 pixels').waitFor(PATIENCE);
  expect(await kept()).toEqual(steps.at(-1));
}

/** What must be true of every piece that was prepared: slab and picture as the two files have them, and all of it in the saved file. */
async function checkPrepared(): Promise<void> {
  const last = await kept();
  const { slab, picture } = last;
  expect(slab.shape).toBe('outline');
  expect(slab.knots).toHaveLength(1);
  expect(slab.photo?.shown).toBe(true);
  expect(picture.file).toBe('great-aunt.jpg');
  expect(picture.matte).not.toBeNull();
  expect(picture.repair.fade).toBeGreaterThan(0);
  await button(/^Hand over/).press('Enter');
  await button(/^Pictures and numbers/).press('Enter');
  const save = async (name: string) => {
    const [file] = await Promise.all([page.waitForEvent('download', PATIENCE), button(name).press('Enter')]);
    return readFileSync(await file.path());
  };
  const prepared = await sharp(await save('Save the prepared picture')).metadata();
  const pitch = last.passes[0].rowPitchMm;
  expect(Math.abs(prepared.width - picture.widthMm / pitch)).toBeLessThan(2);
  expect(prepared.hasAlpha).toBe(true);
  expect(prepared.density).toBeCloseTo(25.4 / pitch, 0);
  await button('Back from Pictures and numbers').press('Enter');
  const { piece, images } = decodePieceFile(new Uint8Array(await save('Save the piece')));
  expect(piece).toEqual(last);
  expect(images.has('great-aunt.jpg')).toBe(true);
  const face = await sharp(images.get(piece.slab.photo!.file)).metadata();
  expect(Math.max(face.width, face.height)).toBeGreaterThan(600);
  expect(face.width / face.height).toBeCloseTo(slab.photo!.widthMm / slab.photo!.heightMm, 2);
}

describe('from two files to a prepared piece', () => {
  test('with the mouse alone', async () => {
    const drag = async (what: Locator, to: readonly [number, number]) => {
      const { x, y, width, height } = (await what.boundingBox())!;
      await page.mouse.move(x + width / 2, y + height / 2);
      await page.mouse.down();
      await page.mouse.move((x + width / 2 + to[0]) / 2, (y + height / 2 + to[1]) / 2, { steps: 4 });
      await page.mouse.move(...to, { steps: 4 });
      await page.mouse.up();
    };
    await button(/^Slab/).click();
    await button('From a photograph of the slab…').click();
    await choose(() => button('Open a photograph…', dialog()).click(), slabPhoto);
    await mark(MARKS[0]).waitFor();
    const sheet = (await dialog().locator('.photo-sheet').boundingBox())!;
    for (const [i, [x, y]] of CARD.entries()) {
      const to = [sheet.x + (x / CAMERA.width) * sheet.width, sheet.y + (y / CAMERA.height) * sheet.height] as const;
      await drag(mark(MARKS[i]), to);
    }
    await button('Find the outline', dialog()).click();
    await button('Turn right', dialog()).click(PATIENCE);
    await button('Use this slab', dialog()).click();
    await dialog().waitFor({ state: 'detached', ...PATIENCE });
    await step('slab');
    // The card lay along the slab; a quarter turn stands it up.
    expect(steps.at(-1)!.slab.heightMm).toBeGreaterThan(steps.at(-1)!.slab.widthMm + 30);

    await button(/^Picture/).click();
    await choose(() => button('Open a photograph…').click(), portrait);
    await button('Keep the tones').click();
    await page.getByText('great-aunt.jpg, 640 × 800 pixels').waitFor();
    await step('photograph');
    await reload();

    await button('Place it on the slab…').click();
    const part = (name: string) => frame().locator(`[data-part="${name}"]`);
    const centreOf = async (what: Locator): Promise<[number, number]> => {
      const { x, y, width, height } = (await what.boundingBox())!;
      return [x + width / 2, y + height / 2];
    };
    const [right, bottom] = await centreOf(part('corner-2').locator('circle').last());
    const [middleX, middleY] = await centreOf(part('whole'));
    await drag(part('corner-2').locator('circle').last(), [
      right - 0.3 * (right - middleX),
      bottom - 0.3 * (bottom - middleY),
    ]);
    await step('pulled');
    const pulled = steps.at(-1)!.picture;
    expect(pulled.widthMm).toBeLessThan(0.92 * steps[0].picture.widthMm);
    // The corner across stayed: the middle moved to the left and up. Dragged back near the middle it comes to rest there.
    expect(pulled.offsetXMm).toBeLessThan(-3);
    await drag(part('whole'), [middleX + 2, middleY - 2]);
    await step('moved');
    expect(steps.at(-1)!.picture).toMatchObject({ offsetXMm: 0, offsetYMm: 0 });
    const [turnX, turnY] = await centreOf(part('turn').locator('circle').last());
    await drag(part('turn').locator('circle').last(), [turnX + 40, turnY]);
    await step('turned');
    expect(steps.at(-1)!.picture.rotationRad).toBeLessThan(-0.05);
    await drag(part('turn').locator('circle').last(), [turnX + 2, turnY]);
    await step('straightened');
    expect(steps.at(-1)!.picture.rotationRad).toBe(0);
    await page.locator('.place-line').getByRole('button', { name: 'Done' }).click();

    await button('Mask…').click();
    const way = (name: string) => mask().getByRole('radio', { name });
    await way('Find the edge').click(PATIENCE);
    const table = (await mask().getByRole('application').boundingBox())!;
    const stroke = async (y: number) => {
      await page.mouse.move(table.x + 0.45 * table.width, table.y + y * table.height);
      await page.mouse.down();
      await page.mouse.move(table.x + 0.55 * table.width, table.y + y * table.height, { steps: 4 });
      await page.mouse.up();
    };
    await stroke(0.5);
    await way('What goes').click();
    await stroke(0.05);
    await mask()
      .getByText(/^The edge is found/)
      .waitFor(PATIENCE);
    await button('Use this mask', mask()).click(PATIENCE);
    await mask().waitFor({ state: 'detached' });
    await step('mask');
    await button('Repair an old print').click();
    for (const name of ['Yellowing', 'Pale darks']) {
      const track = page.locator('.value-slider', { has: page.getByRole('slider', { name: `${name}, %` }) });
      await track.locator('.track').click();
      await step('repaired');
    }
    await button('Back from Repair an old print').click();
    await button('Fit tones to this stack').click();
    await page.getByText(/^This stack shows/).waitFor(PATIENCE);
    await step('tones');
    console.info(`With the mouse alone: ${times.join(', ')}.`);

    await undoAndRedo(
      () => button('Undo').click(),
      () => button('Redo').click(),
    );
    await checkPrepared();
    expect(faults).toEqual([]);
  }, 900_000);

  test('with the keyboard alone', async () => {
    const key = async (name: string, times = 1) => {
      for (let i = 0; i < times; i++) await page.keyboard.press(name);
    };
    /** Nothing is reached but with Tab. */
    const tabTo = async (what: Locator) => {
      await what.waitFor(PATIENCE);
      for (let i = 0; i < 200; i++) {
        if (await what.evaluate((element) => element === document.activeElement)) return;
        await page.keyboard.press('Tab');
      }
      throw new Error(`Tab does not get to ${what}`);
    };
    const press = async (what: Locator) => {
      await tabTo(what);
      await key('Enter');
    };
    /** With arrow keys, long steps first. */
    const walk = async (name: string, to: readonly [number, number]) => {
      await tabTo(mark(name));
      const text = (await mark(name).getAttribute('aria-valuetext')) ?? '';
      const at = text.match(/[\d.]+/g)!.map(Number);
      for (const [axis, less, more] of [
        [0, 'ArrowLeft', 'ArrowRight'],
        [1, 'ArrowUp', 'ArrowDown'],
      ] as const) {
        const halves = Math.round(2 * Math.abs(to[axis] - at[axis]));
        const arrow = to[axis] < at[axis] ? less : more;
        await key(`Shift+${arrow}`, Math.floor(halves / 20));
        await key(arrow, halves % 20);
      }
    };
    await press(button(/^Slab/));
    await press(button('From a photograph of the slab…'));
    await choose(() => press(button('Open a photograph…', dialog())), slabPhoto);
    for (const [i, corner] of CARD.entries()) await walk(MARKS[i], corner);
    await press(button('Find the outline', dialog()));
    await press(button('Use this slab', dialog()));
    await dialog().waitFor({ state: 'detached', ...PATIENCE });
    await step('slab');
    expect(steps.at(-1)!.slab.widthMm).toBeGreaterThan(steps.at(-1)!.slab.heightMm + 30);

    await press(button(/^Picture/));
    await choose(() => press(button('Open a photograph…')), portrait);
    await press(button('Keep the tones'));
    await page.getByText('great-aunt.jpg, 640 × 800 pixels').waitFor();
    await step('photograph');
    await press(button('Place it on the slab…'));
    // The frame has the keyboard at once.
    await expect.poll(() => frame().evaluate((element) => element === document.activeElement), PATIENCE).toBe(true);
    // One key a step: on a slow machine a row of them would be several.
    await key('Shift+ArrowRight');
    await step('moved');
    expect(steps.at(-1)!.picture).toMatchObject({ offsetXMm: 10, offsetYMm: 0 });
    await key('-');
    await step('scaled');
    expect(steps.at(-1)!.picture.widthMm).toBeCloseTo(steps.at(-2)!.picture.widthMm / 1.01, 0);
    await key(']');
    await step('turned');
    expect(steps.at(-1)!.picture.rotationRad).toBeCloseTo(-Math.PI / 180, 6);
    await key('[');
    await step('straightened');
    expect(steps.at(-1)!.picture.rotationRad).toBe(0);
    await key('0');
    await step('centred');
    expect(steps.at(-1)!.picture).toMatchObject({ offsetXMm: 0, offsetYMm: 0 });
    await key('Escape');
    await expect
      .poll(() => button('Place it on the slab…').evaluate((element) => element === document.activeElement), PATIENCE)
      .toBe(true);

    await press(button('Mask…'));
    const sheet = mask().getByRole('application');
    await tabTo(mask().getByRole('radio', { name: 'By hand' }));
    await key('ArrowRight');
    await key('Space');
    await tabTo(sheet);
    await key('Space');
    await tabTo(mask().getByRole('radio', { name: 'What stays' }));
    await key('ArrowRight');
    await key('Space');
    await tabTo(sheet);
    await key('Shift+ArrowUp', 10);
    await key('Space');
    await mask()
      .getByText(/^The edge is found/)
      .waitFor(PATIENCE);
    await expect.poll(() => button('Use this mask', mask()).isEnabled(), PATIENCE).toBe(true);
    await press(button('Use this mask', mask()));
    await mask().waitFor({ state: 'detached' });
    await step('mask');
    await press(button('Repair an old print'));
    for (const name of ['Yellowing', 'Pale darks']) {
      await tabTo(field(name));
      await key('Control+a');
      await page.keyboard.type('60');
      await key('Enter');
      await step('repaired');
      expect(steps.at(-1)!.picture.repair[name === 'Pale darks' ? 'fade' : 'cast']).toBeCloseTo(0.6, 9);
    }
    await press(button('Back from Repair an old print'));
    await press(button('Fit tones to this stack'));
    await page.getByText(/^This stack shows/).waitFor(PATIENCE);
    await step('tones');
    console.info(`With the keyboard alone: ${times.join(', ')}.`);

    // From a button: Ctrl+Z in a field would be about its text.
    await undoAndRedo(
      () => key('Control+z'),
      () => key('Control+y'),
    );
    await reload();
    await checkPrepared();
    expect(faults).toEqual([]);
  }, 900_000);
});
