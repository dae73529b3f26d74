import { createHash } from 'node:crypto';
import { readFileSync } from 'node:fs';
import type { Page } from 'playwright-core';
import sharp from 'sharp';
import { describe, expect, test } from 'vitest';
import { createPiece } from '../../src/piece/defaults.ts';
import { encodePieceFile } from '../../src/piece/file.ts';
import { svgToOutline } from '../../src/vision/slab/svg.ts';
import { browserPages } from '../helpers/browser-pages.ts';
import { readProgram } from '../helpers/gcode-reader.ts';
import { goBack } from '../helpers/kept-page.ts';
import { readPngResolution } from '../helpers/png-resolution.ts';

let page: Page;
const tools = browserPages({
  name: 'machine-job',
  view: false,
  context: { viewport: { width: 1280, height: 900 }, acceptDownloads: true },
  onPage: (made) => {
    page = made;
  },
});

const button = (name: string | RegExp) => page.getByRole('button', { name, exact: typeof name === 'string' });

/** Two passes and a reference mark; wide enough to be worth a progress bar only where asked. */
async function openPiece(widthMm = 30): Promise<void> {
  const photo = await sharp({ create: { width: 120, height: 90, channels: 3, background: '#f0f0f0' } })
    .composite([{ input: { create: { width: 60, height: 90, channels: 3, background: '#101010' } }, left: 0, top: 0 }])
    .jpeg()
    .toBuffer();
  const piece = createPiece('Small', 'small.jpg');
  const small = {
    ...piece,
    picture: { ...piece.picture, widthMm },
    placement: { ...piece.placement, referenceMark: true },
    passes: [piece.passes[0], { ...piece.passes[0], lightEndPower: 0.3, darkEndPower: 0 }],
  };
  tools.openOn(encodePieceFile({ piece: small, images: new Map([['small.jpg', new Uint8Array(photo)]]) }));
  await page.goto(tools.url);
  await page.getByRole('textbox', { name: 'Name of the piece' }).and(page.locator('[value="Small"]')).waitFor();
  await button(/^Hand over/).click();
  await button(/^For the machine/).click();
}

async function download(name: string): Promise<{ name: string; bytes: Buffer }> {
  const [file] = await Promise.all([page.waitForEvent('download', { timeout: 60_000 }), button(name).click()]);
  return { name: file.suggestedFilename(), bytes: readFileSync(await file.path()) };
}

/** In the page, because the file may be whole before a click from outside arrives. */
function stopOnceItIsOffered(): Promise<void> {
  return new Promise((resolve) => {
    const look = (_: unknown, observer: MutationObserver) => {
      const offered = [...document.querySelectorAll<HTMLButtonElement>('.file-button button')];
      const stop = offered.find(({ textContent }) => textContent === 'Stop');
      if (!stop) return;
      observer.disconnect();
      stop.click();
      resolve();
    };
    new MutationObserver(look).observe(document.body, { childList: true, characterData: true, subtree: true });
  });
}

describe('what the machine gets, on the page', () => {
  test('every file by one click, read back', async () => {
    await page.addInitScript(() => Object.defineProperty(window, 'showSaveFilePicker', { value: undefined }));
    await openPiece();
    for (const index of [1, 2]) {
      const { name, bytes } = await download(`Save the program of pass ${index}`);
      expect(name).toBe(`small-pass-${index}.gcode`);
      const { motions, lines, end } = readProgram(bytes.toString('ascii'));
      expect(lines[0]).toBe('M5');
      expect(Math.max(...motions.map(({ s }) => s))).toBe(index === 1 ? 850 : 300);
      expect(end).toEqual([200, 200]);
      const digits = createHash('sha256').update(bytes).digest('hex').slice(0, 12);
      await page.getByText(`SHA-256 ${digits}…`).waitFor();
    }
    for (const [label, name] of [
      ['Save the lap round the slab', 'small-walk-slab.gcode'],
      ['Save the lap round the picture', 'small-walk-picture.gcode'],
      ['Save the reference mark', 'small-mark.gcode'],
      ['Save the lap over the mark', 'small-walk-mark.gcode'],
    ]) {
      const file = await download(label);
      expect(file.name).toBe(name);
      const { motions } = readProgram(file.bytes.toString('ascii'));
      expect(motions.some(({ beam }) => beam !== 'off')).toBe(label.includes('reference'));
    }
    await button(/^Picture and drawing/).click();
    const picture = await download('Save the picture of pass 1');
    expect(readPngResolution(picture.bytes)).toEqual({ x: 10, y: 10 });
    expect(await sharp(picture.bytes).metadata()).toMatchObject({ width: 300, height: 225, hasAlpha: true });
    const drawing = await download('Save the drawing');
    expect(drawing.name).toBe('small-drawing.svg');
    expect(Math.max(...svgToOutline(drawing.bytes.toString()).outline.map(([x]) => x))).toBeCloseTo(150, 1);
    expect(tools.faults).toEqual([]);
  });

  test('a program is streamed to where the maker says; one that fails or is stopped leaves nothing behind', async () => {
    // The browser's own private folder stands in for the folder that a maker would choose: its handles are of the same kind.
    await page.addInitScript(() => {
      const handleOf = async (name: string) =>
        (await navigator.storage.getDirectory()).getFileHandle(name, { create: true });
      const made: { handle?: FileSystemFileHandle } = {};
      Object.assign(window, {
        makeHandle: async (name: string) => {
          made.handle = await handleOf(name);
        },
        showSaveFilePicker: ({ suggestedName }: { suggestedName: string }) => made.handle ?? handleOf(suggestedName),
      });
    });
    await openPiece(120);
    await button('Save the program of pass 1').click();
    await page.getByText(/Saved small-pass-1\.gcode/).waitFor({ timeout: 60_000 });
    const inFolder = () =>
      page.evaluate(async () => {
        const files: Record<string, string> = {};
        const folder = await navigator.storage.getDirectory();
        for await (const [name, handle] of (
          folder as unknown as { entries(): AsyncIterable<[string, FileSystemFileHandle]> }
        ).entries())
          files[name] = await (await handle.getFile()).text();
        return files;
      });
    const written = await inFolder();
    expect(Object.keys(written)).toEqual(['small-pass-1.gcode']);
    const { end } = readProgram(written['small-pass-1.gcode']);
    expect(end).toEqual([200, 200]);

    // Stopped on the way: neither a half file nor an empty one, and the next one can be made.
    const stopped = page.evaluate(stopOnceItIsOffered);
    await button('Save the program of pass 2').click();
    await stopped;
    await expect.poll(async () => Object.keys(await inFolder()), { timeout: 30_000 }).toEqual(['small-pass-1.gcode']);
    // A disk that is full while the file is written.
    await page.evaluate(() =>
      (window as unknown as { makeHandle(name: string): Promise<void> }).makeHandle('small-pass-2.gcode'),
    );
    const client = await page.context().newCDPSession(page);
    const origin = new URL(tools.url).origin;
    await client.send('Storage.overrideQuotaForOrigin', { origin, quotaSize: 1 });
    await button('Save the program of pass 2').click();
    await page
      .getByText('The file could not be written: the disk is full. What stood there before is unchanged.')
      .waitFor({ timeout: 60_000 });
    expect(Object.keys(await inFolder())).toEqual(['small-pass-1.gcode']);

    await client.send('Storage.overrideQuotaForOrigin', { origin });

    // A bed that is too small for where the slab lies.
    await goBack(page);
    await button(/^Place on the bed/).click();
    await button(/^Bed, clearance/).click();
    const depth = page.getByRole('textbox', { name: 'Bed, depth' });
    await depth.fill('318');
    await depth.press('Enter');
    await goBack(page);
    await goBack(page);
    await button(/^For the machine/).click();
    await page.getByText(/The slab reaches 2 mm beyond the bed’s far edge/).waitFor();
    expect(await button('Save the program of pass 2').isDisabled()).toBe(true);
    await button('Move the slab there').click();
    await page.getByText(/The slab reaches/).waitFor({ state: 'detached' });
    expect(await button('Save the program of pass 2').isEnabled()).toBe(true);
    expect(tools.faults).toEqual([]);
  });

  test('a burn that broke off goes on from a row that is shown on the slab, with what the pause does', async () => {
    await page.addInitScript(() => Object.defineProperty(window, 'showSaveFilePicker', { value: undefined }));
    await openPiece();
    await button(/^Take up a burn/).click();
    const first = page.getByRole('textbox', { name: 'First row to burn' });
    await first.fill('900');
    await first.press('Enter');
    await button('Find the row').click();
    await page.getByText(/Pass 1 has nothing to burn from row 900 on: .* the last that burns is row 225/).waitFor();
    await first.fill('120');
    await first.press('Enter');
    await button('Find the row').click();
    await page.getByRole('img', { name: /^Row 120 on the slab, 11\.9 mm into a picture 22\.5 mm high/ }).waitFor();
    await page.getByText(/A pause of 30 min before row 120: the first rows after it start [\d.]+ °C colder/).waitFor();
    const { name, bytes } = await download('Save the program from row 120');
    expect(name).toBe('small-pass-1-from-row-120.gcode');
    const text = bytes.toString('ascii');
    expect(text).toContain('(Taken up from row 120 of 225: rows before it must be burned already.)');
    await page.getByText(/look that row 119 is whole/).waitFor();
    await goBack(page);
    const whole = await download('Save the program of pass 1');
    const blocks = whole.bytes.toString('ascii').split('\nG0');
    expect(text.split('\nG0').slice(2)).toEqual(blocks.slice(121));
    expect(tools.faults).toEqual([]);
  });

  test('a feed that is too fast is refused in place, and the button beside it makes it right', async () => {
    await page.addInitScript(() => Object.defineProperty(window, 'showSaveFilePicker', { value: undefined }));
    await openPiece();
    await button(/^Controller/).click();
    const scale = page.getByRole('textbox', { name: 'Power scale' });
    // The field itself takes none with which nothing burns.
    await scale.fill('0');
    await scale.press('Enter');
    await expect.poll(() => scale.inputValue()).toBe('1');
    await scale.fill('1000');
    await scale.press('Enter');
    const limit = page.getByRole('textbox', { name: 'Power limit' });
    await limit.fill('50');
    await limit.press('Enter');
    await goBack(page);
    await page.getByText('Pass 1 sets 85 % of full power and the limit is 50 %.').waitFor();
    await button('Set its power to 50 %').click();
    const { bytes } = await download('Save the program of pass 1');
    expect(Math.max(...readProgram(bytes.toString('ascii')).motions.map(({ s }) => s))).toBe(500);
    expect(tools.faults).toEqual([]);
  });
});
