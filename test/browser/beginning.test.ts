import type { Page } from 'playwright-core';
import { describe, expect, test } from 'vitest';
import { browserPages } from '../helpers/browser-pages.ts';
import { keptPiece, keptRecords } from '../helpers/kept.ts';
import { doWithPiece, nameOf } from '../helpers/kept-page.ts';
import { flatPhoto, tinyPiece } from '../helpers/tiny-piece.ts';

let page: Page;
const tools = browserPages({
  name: 'beginning',
  demo: () => tinyPiece('Demo'),
  view: false,
  firstVisit: true,
  context: { viewport: { width: 1280, height: 800 } },
  onPage: (made) => {
    page = made;
  },
});

const PATIENCE = { timeout: 30_000 };
const button = (name: string | RegExp) => page.getByRole('button', { name });
const first = () => page.getByRole('complementary', { name: 'A new piece' });

async function choosePhoto(name: string, bytes: Uint8Array): Promise<void> {
  const [chooser] = await Promise.all([page.waitForEvent('filechooser'), button('Open a photograph…').click()]);
  await chooser.setFiles({ name, mimeType: 'image/jpeg', buffer: Buffer.from(bytes) });
}

describe('a first visit', () => {
  test('asks for photograph, slab and paint, and two presses show the proof of a piece named after its photograph', async () => {
    await page.goto(tools.url);
    await first().waitFor(PATIENCE);
    for (const name of ['Your photograph', 'Your slab', 'Your paint']) {
      await page.getByRole('region', { name }).waitFor();
    }
    expect(await button('See the proof').isDisabled()).toBe(true);
    expect(await keptRecords(page)).toEqual([]);
    await choosePhoto('old_barn.jpg', await flatPhoto(200, 60, 45));
    await page.getByText('old_barn.jpg, 60 × 45 pixels').waitFor(PATIENCE);
    await button('See the proof').click();
    expect(await nameOf(page).inputValue()).toBe('old barn');
    await page
      .getByRole('region', { name: 'Proofs' })
      .getByText(/rows ·.* left dark/)
      .waitFor({ timeout: 240_000 });
    await expect.poll(async () => (await keptPiece(page))?.picture.file, PATIENCE).toBe('old_barn.jpg');
    expect(tools.faults).toEqual([]);
  });

  test('shows the demo beside it, which a reload comes back to and a photograph does not change', async () => {
    await page.goto(tools.url);
    await button('Look at the demo').click();
    await expect.poll(() => nameOf(page).inputValue(), PATIENCE).toBe('Demo');
    await page.reload();
    await expect.poll(() => nameOf(page).inputValue(), PATIENCE).toBe('Demo');
    await button(/^Picture/).click();
    await choosePhoto('mill.jpg', await flatPhoto(90, 40, 30));
    await page.getByText('mill.jpg, 40 × 30 pixels').waitFor(PATIENCE);
    await expect.poll(async () => (await keptRecords(page)).map(({ title }) => title), PATIENCE).toEqual(['mill']);
    const piece = await keptPiece(page);
    expect(piece?.slab.knots).toEqual([]);
    expect(piece?.stack.coats[0].name).toBe('Satin brown');
  });

  test('fills in the paint in the maker’s words, and takes paint and machine of the piece before on a press', async () => {
    await page.goto(tools.url);
    await choosePhoto('one.jpg', await flatPhoto(150, 40, 30));
    await page.getByText('one.jpg, 40 × 30 pixels').waitFor(PATIENCE);
    await button(/^Satin brown over cream/).click();
    await page.getByRole('option', { name: 'Satin black over white primer' }).click();
    await page.getByRole('radio', { name: 'Brush' }).click();
    await page.getByRole('radio', { name: 'Five' }).click();
    await expect
      .poll(async () => (await keptPiece(page))?.stack.coats.map(({ name, layers }) => [name, layers]), PATIENCE)
      .toEqual([
        ['Satin black', 5],
        ['White primer', 2],
      ]);
    await button('All settings').click();
    await button('New piece').click();
    await button('Paint and machine of “one”').click(PATIENCE);
    await page.getByText(/110 µm of dark paint over/).waitFor();
    expect(await page.getByText('one.jpg').count()).toBe(0);
  });
});

describe('another photograph on a piece', () => {
  test('asks: keep the tones, fit them, or begin a new piece; undo brings the one before back', async () => {
    await page.goto(tools.url);
    await choosePhoto('one.jpg', await flatPhoto(150, 40, 30));
    await page.getByText('one.jpg, 40 × 30 pixels').waitFor(PATIENCE);
    await button('All settings').click();
    await button(/^Picture/).click();
    const tone = async () => (await keptPiece(page))?.picture.tone;
    const before = await tone();
    await page.waitForTimeout(700);
    await choosePhoto('two.jpg', await flatPhoto(90, 60, 45));
    await button('Cancel').click(PATIENCE);
    await page.getByText('one.jpg, 40 × 30 pixels').waitFor();
    await choosePhoto('two.jpg', await flatPhoto(90, 60, 45));
    await button('Keep the tones').click(PATIENCE);
    await page.getByText('two.jpg, 60 × 45 pixels').waitFor();
    await expect.poll(async () => (await keptPiece(page))?.picture.file, PATIENCE).toBe('two.jpg');
    expect(await tone()).toEqual(before);
    expect(await nameOf(page).inputValue()).toBe('one');
    await button('Undo').click();
    await page.getByText('one.jpg, 40 × 30 pixels').waitFor();
    await page.waitForTimeout(700);
    await choosePhoto('three.jpg', await flatPhoto(60, 50, 45));
    await button('Fit the tones to it').click(PATIENCE);
    await page.getByText('three.jpg, 50 × 45 pixels').waitFor({ timeout: 120_000 });
    await expect.poll(async () => (await tone())?.curve, PATIENCE).not.toEqual(before?.curve);
    await page.waitForTimeout(700);
    await choosePhoto('four.jpg', await flatPhoto(30, 50, 45));
    await button('Begin a new piece with it').click(PATIENCE);
    await first().waitFor(PATIENCE);
    await expect
      .poll(async () => (await keptRecords(page)).map(({ title }) => title).sort(), PATIENCE)
      .toEqual(['four', 'one']);
    expect(tools.faults).toEqual([]);
  });
});

describe('the board of pieces', () => {
  test('renames, bins and brings back, and shows each piece’s photograph', async () => {
    await page.goto(tools.url);
    await choosePhoto('one.jpg', await flatPhoto(150, 40, 30));
    await page.getByText('one.jpg, 40 × 30 pixels').waitFor(PATIENCE);
    await button('All settings').click();
    await button('New piece').click();
    await first().waitFor(PATIENCE);
    await button('Pieces…').click();
    const row = (name: string) => page.getByRole('listitem', { name, exact: true });
    await row('one').locator('img').waitFor(PATIENCE);
    await doWithPiece(page, 'one', 'Rename');
    await page.getByRole('textbox', { name: 'New name of one' }).fill('Quay');
    await page.keyboard.press('Enter');
    await row('Quay').waitFor(PATIENCE);
    await doWithPiece(page, 'Quay', 'Bin');
    await row('Quay').waitFor({ state: 'detached' });
    // What was binned is still to be had when the board is opened again.
    await page.getByRole('dialog').getByRole('button', { name: 'Close' }).click();
    await button('Pieces…').click();
    await page.getByRole('dialog').getByRole('button', { name: 'Undo' }).click();
    await button('Open Quay').click();
    await expect.poll(() => nameOf(page).inputValue(), PATIENCE).toBe('Quay');
    expect(tools.faults).toEqual([]);
  });
});
