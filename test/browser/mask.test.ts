import { join } from 'node:path';
import type { Page } from 'playwright-core';
import sharp from 'sharp';
import { beforeEach, describe, expect, test } from 'vitest';
import { createPiece } from '../../src/piece/defaults.ts';
import { encodePieceFile } from '../../src/piece/file.ts';
import type { BrushStroke } from '../../src/piece/schema.ts';
import { browserPages } from '../helpers/browser-pages.ts';
import { keptPiece } from '../helpers/kept.ts';

let page: Page;
const tools = browserPages({
  name: 'mask',
  demo: disc,
  view: false,
  context: { viewport: { width: 1280, height: 800 } },
  onPage: (made) => {
    page = made;
  },
});
const { faults } = tools;

beforeEach(async () => {
  await page.goto(tools.url);
  await page.getByRole('textbox', { name: 'Name of the piece' }).and(page.locator('[value="Disc"]')).waitFor();
  await page.getByRole('button', { name: /^Picture/ }).click();
});

/** A dark disc before a light wall, 60 mm wide. */
async function disc(): Promise<Uint8Array> {
  const drawn = Buffer.from('<svg width="240" height="180"><circle cx="120" cy="95" r="50" fill="#30241c"/></svg>');
  const photo = await sharp({ create: { width: 240, height: 180, channels: 3, background: '#ccd4da' } })
    .composite([{ input: drawn }])
    .png()
    .toBuffer();
  const piece = createPiece('Disc', 'disc.png');
  const small = { ...piece, picture: { ...piece.picture, widthMm: 60, crop: 'rectangle' as const } };
  return encodePieceFile({ piece: small, images: new Map([['disc.png', new Uint8Array(photo)]]) });
}

const dialog = () => page.getByRole('dialog', { name: 'Mask' });
const sheet = () => dialog().getByRole('application');
const inDialog = (name: string | RegExp) => dialog().getByRole('button', { name });
const openMask = async () => {
  await page.getByRole('button', { name: /mask…$/i }).click();
  await sheet().waitFor();
};
const question = () => page.getByRole('alertdialog', { name: 'Keep the new strokes?' });
const savedStrokes = async (): Promise<readonly BrushStroke[]> => (await keptPiece(page))?.picture.strokes ?? [];
const press = async (key: string, times: number) => {
  for (let i = 0; i < times; i++) await page.keyboard.press(key);
};

describe('the mask', () => {
  test('is painted with keys, undone inside the dialog, taken over in one change, and undone on the page', async () => {
    await openMask();
    await sheet().focus();
    await press('ArrowLeft', 10);
    await page.keyboard.press('Space');
    await press('Shift+ArrowRight', 4);
    await page.keyboard.press('Shift+Enter');
    await page.keyboard.press('Enter');
    await dialog().getByText('3 strokes.').waitFor();
    await page.keyboard.press('Control+z');
    await dialog().getByText('2 strokes.').waitFor();
    await press('Control+z', 2);
    await dialog().getByText('No strokes yet.').waitFor();
    await press('Control+y', 2);
    await dialog().getByText('2 strokes.').waitFor();
    await inDialog('Use this mask').click();
    await dialog().waitFor({ state: 'detached' });
    await expect.poll(async () => (await savedStrokes()).length).toBe(2);
    const [dab, line] = await savedStrokes();
    expect(dab.points).toEqual([[0.4, 0.375]]);
    expect(line.points).toEqual([
      [0.4, 0.375],
      [0.6, 0.375],
    ]);
    expect(dab.does).toBe('erase');
    await page.getByRole('button', { name: 'Undo' }).click();
    await expect.poll(savedStrokes).toEqual([]);
    await page.getByRole('button', { name: 'Redo' }).click();
    await expect.poll(async () => (await savedStrokes()).length).toBe(2);
    expect(faults).toEqual([]);
  });

  test('the background goes by a mark on either side of its edge and says what time that saves; a mask that leaves nothing is refused', async () => {
    await openMask();
    await dialog().getByRole('radio', { name: 'Find the edge' }).click();
    await dialog().getByText('Two or three strokes are enough.').waitFor();
    await sheet().focus();
    await page.keyboard.press('Space');
    await dialog().getByText('Now mark a bit of what goes.').waitFor();
    await dialog().getByRole('radio', { name: 'What goes' }).click();
    await sheet().focus();
    await press('Shift+ArrowLeft', 8);
    await page.keyboard.press('Space');
    await dialog()
      .getByText(/^The edge is found/)
      .waitFor();
    await dialog()
      .getByText(/^About .* less than the full rectangle\.$/)
      .waitFor();
    // All the rest goes under one broad brush.
    await dialog().getByRole('radio', { name: 'By hand' }).click();
    await dialog().getByRole('textbox', { name: 'Brush size' }).fill('60');
    await page.keyboard.press('Enter');
    await sheet().focus();
    await press('Shift+ArrowRight', 8);
    await page.keyboard.press('Space');
    await dialog()
      .getByText(/^Nothing would be burned/)
      .waitFor();
    expect(await inDialog('Use this mask').isDisabled()).toBe(true);
    await inDialog('Undo').click();
    await expect.poll(() => inDialog('Use this mask').isDisabled()).toBe(false);
    await inDialog('Undo').click();
    await inDialog('Undo').click();
    await dialog().getByText('No strokes yet.').waitFor();
    expect(await inDialog('Undo').isDisabled()).toBe(true);
    expect(faults).toEqual([]);
  });

  test('is painted with the pointer; Escape asks, and drops or keeps', async () => {
    await openMask();
    const box = (await sheet().boundingBox())!;
    await page.mouse.move(box.x + 0.2 * box.width, box.y + 0.5 * box.height);
    await page.mouse.down();
    await page.mouse.move(box.x + 0.8 * box.width, box.y + 0.5 * box.height, { steps: 30 });
    const veil = () =>
      sheet()
        .locator('canvas')
        .nth(1)
        .evaluate((canvas: HTMLCanvasElement) => {
          const { width, height } = canvas;
          const at = (x: number, y: number) => canvas.getContext('2d')!.getImageData(x, y, 1, 1).data[3];
          return [at(width / 2, height / 2), at(width / 2, height / 8)];
        });
    // The veil follows while the button is still down.
    await expect.poll(async () => (await veil())[0]).toBeGreaterThan(200);
    expect((await veil())[1]).toBe(0);
    await page.mouse.up();
    await dialog().getByText('One stroke.').waitFor();
    await page.keyboard.press('Escape');
    await question().getByText('not taken over yet').waitFor();
    // Nothing is lost by a second Escape: painting goes on.
    await page.keyboard.press('Escape');
    await question().waitFor({ state: 'detached' });
    await dialog().getByText('One stroke.').waitFor();
    // The focus comes back to the dialog a frame after the question has gone; keys go where the focus is.
    await expect.poll(() => dialog().evaluate((shown) => shown.contains(document.activeElement))).toBe(true);
    await page.keyboard.press('Escape');
    await question().getByRole('button', { name: 'Throw away' }).click();
    await dialog().waitFor({ state: 'detached' });
    await openMask();
    await dialog().getByText('No strokes yet.').waitFor();
    expect(await savedStrokes()).toEqual([]);

    await sheet().focus();
    await page.keyboard.press('Space');
    await dialog().getByText('One stroke.').waitFor();
    await inDialog('Cancel').click();
    await question().getByRole('button', { name: 'Keep' }).click();
    await dialog().waitFor({ state: 'detached' });
    await expect.poll(async () => (await savedStrokes()).length).toBe(1);
    // Nothing was changed since: nothing is asked.
    await openMask();
    await page.keyboard.press('Escape');
    await dialog().waitFor({ state: 'detached' });
    expect(faults).toEqual([]);
  });

  test('goes with its photograph when another one is opened; undo brings both back', async () => {
    await openMask();
    await sheet().focus();
    await page.keyboard.press('Space');
    await inDialog('Use this mask').click();
    await expect.poll(async () => (await savedStrokes()).length).toBe(1);
    // A burst of changes is one step: the next is to be one of its own.
    await page.waitForTimeout(700);
    const path = join(tools.folder, 'other.png');
    await sharp({ create: { width: 120, height: 90, channels: 3, background: '#c0b8a8' } })
      .png()
      .toFile(path);
    const [chooser] = await Promise.all([
      page.waitForEvent('filechooser'),
      page.getByRole('button', { name: 'Open a photograph…' }).click(),
    ]);
    await chooser.setFiles(path);
    await page.getByRole('button', { name: 'Keep the tones' }).click();
    await page.getByText(/^Cut, mask and healing were made for the photograph before and went with it/).waitFor();
    await page.getByText('other.png, 120 × 90 pixels').waitFor();
    await expect.poll(savedStrokes).toEqual([]);
    await page.getByRole('button', { name: 'Undo' }).click();
    await page.getByText('disc.png, 240 × 180 pixels').waitFor();
    await expect.poll(async () => (await savedStrokes()).length).toBe(1);
    expect(faults).toEqual([]);
  });
});
