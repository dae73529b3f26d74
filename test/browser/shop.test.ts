import { unzipSync } from 'fflate';
import type { Page } from 'playwright-core';
import { expect, test } from 'vitest';
import { createPiece } from '../../src/piece/defaults.ts';
import { decodePieceFile, encodePieceFile } from '../../src/piece/file.ts';
import type { Piece } from '../../src/piece/schema.ts';
import { EMPTY_SHELF, exportShelf, putOnShelf, referTo, shelve } from '../../src/studies/calibrate/shelf/shelf.ts';
import { browserPages } from '../helpers/browser-pages.ts';
import { keptRecords } from '../helpers/kept.ts';
import { chooseFile, nameOf, openPage, openStep, readDownload } from '../helpers/kept-page.ts';
import { tinyPiece } from '../helpers/tiny-piece.ts';

/** The piece by another machine. */
function onBlueMachine(file: Buffer): Buffer {
  const { piece, images } = decodePieceFile(file);
  return Buffer.from(encodePieceFile({ piece: { ...piece, machine: { ...piece.machine, name: 'Blue one' } }, images }));
}

/** An entry of the shelf, and the same one after a fit that found the paint far harder to burn. */
const calibrated: Piece = (() => {
  const piece = createPiece('', '');
  return { ...piece, certainty: { ...piece.certainty, source: 'calibrated' } };
})();
const hard: Piece = {
  ...calibrated,
  stack: {
    ...calibrated.stack,
    coats: calibrated.stack.coats.map((coat) => ({ ...coat, thresholdJPerMm2: 10 })),
  },
};
const label = { name: 'Summer tin', date: '2031-05-02' };
const entry = shelve(calibrated, label);
const anew = putOnShelf(putOnShelf(EMPTY_SHELF, entry), shelve(hard, { ...label, date: '2031-08-02' }));

function fromShelf(file: Buffer): Buffer {
  const { piece, images } = decodePieceFile(file);
  return Buffer.from(encodePieceFile({ piece: { ...piece, shelfEntry: referTo(entry) }, images }));
}

let page: Page;
const tools = browserPages({
  name: 'shop',
  demo: () => tinyPiece('Demo'),
  view: false,
  together: true,
  context: { viewport: { width: 1280, height: 800 }, acceptDownloads: true },
  onPage: (made) => {
    page = made;
    // Files come as downloads.
    made.addInitScript(() => Object.defineProperty(window, 'showSaveFilePicker', { value: undefined }));
  },
});

const PATIENCE = { timeout: 20_000 };
const button = (name: string | RegExp) => page.getByRole('button', { name, exact: typeof name === 'string' });
const row = (name: string) => page.getByRole('listitem', { name, exact: true });
const openBoard = async () => {
  await button('Pieces…').click();
  await page.getByRole('dialog').waitFor(PATIENCE);
};
const pieceOf = async (title: string): Promise<Piece> =>
  JSON.parse((await keptRecords(page)).find((record) => record.title === title)!.piece);

test('piece files join the board; what is none is named; what is changed in place is there after a reload', async () => {
  await openPage(page, tools.url);
  await openBoard();
  const files = await Promise.all(
    ['One', 'Two', 'Three'].map(async (name, i) => ({
      name: `${name}.foreburn`,
      mimeType: 'application/zip',
      buffer: await tinyPiece(name, 240 - 60 * i),
    })),
  );
  files[0].buffer = fromShelf(files[0].buffer);
  files[2].buffer = onBlueMachine(files[2].buffer);
  const spoilt = { name: 'spoilt.foreburn', mimeType: 'application/zip', buffer: Buffer.alloc(40) };
  const [chooser] = await Promise.all([page.waitForEvent('filechooser'), button('Add piece files…').click()]);
  await chooser.setFiles([files[0], spoilt, files[1], files[2]]);
  await page.getByText('3 pieces have joined.').waitFor(PATIENCE);
  await page.getByText(/^spoilt\.foreburn the piece is damaged/).waitFor();

  await page.getByLabel('Due date of Two').fill('2031-05-02');
  await page.getByLabel('Client of Two').fill('Fenwick Hall');
  await page.keyboard.press('Enter');
  await page.getByLabel('State of Two').selectOption('painted');
  await expect.poll(async () => (await pieceOf('Two')).order.state, PATIENCE).toBe('painted');
  await page.reload();
  await nameOf(page).waitFor(PATIENCE);
  await openBoard();
  await expect.poll(() => page.getByLabel('Due date of Two').inputValue(), PATIENCE).toBe('2031-05-02');
  expect(await page.getByLabel('Client of Two').inputValue()).toBe('Fenwick Hall');
  expect(await page.getByLabel('State of Two').inputValue()).toBe('painted');
  await page.getByRole('searchbox').fill('fenwick');
  await expect.poll(() => page.locator('.board-row').count(), PATIENCE).toBe(1);
  await page.getByRole('searchbox').fill('');
  expect(tools.faults).toEqual([]);
});

test('settings of one piece are copied to the others that are chosen, and taken back', async () => {
  const before = await pieceOf('One');
  const machines = async () => [(await pieceOf('One')).machine.name, (await pieceOf('Two')).machine.name];
  await page.getByLabel('Choose all 3 shown').check();
  await button('Copy settings…').click();
  await page.getByLabel('Piece to copy from').selectOption({ label: 'Three' });
  await button('Copy to 2 pieces').click();
  await expect.poll(machines, PATIENCE).toEqual(['Blue one', 'Blue one']);
  expect((await pieceOf('Two')).quote.client).toBe('Fenwick Hall');
  await page.getByRole('dialog').getByRole('button', { name: 'Undo' }).click();
  await expect.poll(machines, PATIENCE).toEqual([before.machine.name, before.machine.name]);
  expect(await pieceOf('One')).toEqual(before);
});

test('all are saved as one file and come back from it, but for those that are here', async () => {
  const records = await keptRecords(page);
  const [download] = await Promise.all([page.waitForEvent('download'), button('Save all as one file').click()]);
  const archive = await readDownload(download);
  await button('What to do with Two').click();
  await page.getByRole('menuitem', { name: 'Bin' }).click();
  await row('Two').waitFor({ state: 'detached' });
  await chooseFile(page, 'Add piece files…', 'pieces.zip', archive);
  await page.getByText('One piece has joined; 2 were here already.').waitFor(PATIENCE);
  const after = await keptRecords(page);
  const known = (all: typeof records) => all.map(({ piece, photo }) => ({ piece: JSON.parse(piece), photo }));
  const byName = (all: ReturnType<typeof known>) => all.sort((a, b) => (a.piece.name < b.piece.name ? -1 : 1));
  expect(byName(known(after))).toEqual(byName(known(records)));
  expect(tools.faults).toEqual([]);
});

test('a run over pieces that is stopped and left goes on where it was; one without a photograph fails by itself', async () => {
  const bare = { ...(await pieceOf('One')), name: 'Bare' };
  await chooseFile(page, 'Add piece files…', 'bare.json', Buffer.from(JSON.stringify(bare)));
  await row('Bare').waitFor(PATIENCE);
  await page.getByLabel('Choose all 4 shown').check();
  await button('Work through…').click();
  await page.getByText('Files for the machine').click();
  await button('Begin').click();
  const work = page.getByRole('region', { name: 'Work on the pieces' });
  const odds = page.locator('.board-verdict b');
  await odds.first().waitFor({ timeout: 60_000 });
  await work.getByRole('button', { name: 'Stop' }).click();
  await work.getByText(/stopped after \d/).waitFor(PATIENCE);
  const before = await odds.count();
  expect(before).toBeLessThan(3);

  await page.reload();
  await nameOf(page).waitFor(PATIENCE);
  await openBoard();
  await expect.poll(() => odds.count(), PATIENCE).toBe(before);
  await button('Go on').click();
  await work.getByText('3 of 4 done; 12 files are ready.').waitFor({ timeout: 60_000 });
  await work.getByText(/^Bare It has no photograph/).waitFor();
  await expect.poll(() => odds.count(), PATIENCE).toBe(3);

  const [download] = await Promise.all([page.waitForEvent('download'), button(/^Save the files/).click()]);
  const names = Object.keys(unzipSync(await readDownload(download)));
  expect(names.filter((name) => name.endsWith('pass-1.gcode')).sort()).toEqual([
    'one/one-pass-1.gcode',
    'three/three-pass-1.gcode',
    'two/two-pass-1.gcode',
  ]);
  expect(tools.faults).toEqual([]);
});

test('a paint that is calibrated anew is taken by the pieces that use it, which says what it changes', async () => {
  await button('Close').click();
  await openStep(page, 'Passes');
  await button('Calibrate with a card…').click();
  await page.getByRole('radio', { name: 'Shelf' }).click();
  await chooseFile(page, 'Take in a file…', 'shelf.json', Buffer.from(exportShelf(anew)));
  await page.getByText('1 taken in from shelf.json.').waitFor(PATIENCE);
  await button('Close').click();

  await openBoard();
  await page.getByRole('searchbox').fill('summer tin');
  await expect.poll(() => page.locator('.board-row').count(), PATIENCE).toBe(2);
  await page.getByText(/2 pieces still to be burned have older ones/).waitFor(PATIENCE);
  await button('Renew and proof the 2').click();
  const work = page.getByRole('region', { name: 'Work on the pieces' });
  await work
    .getByText(/^1 of 2 done\. With the new numbers of “Summer tin”: 1 of 1 no longer comes out/)
    .waitFor({ timeout: 60_000 });
  const { stack, shelfEntry } = await pieceOf('One');
  expect({ stack, shelfEntry }).toEqual({ stack: hard.stack, shelfEntry: referTo(anew.entries[0]) });
  await page.getByRole('dialog').getByRole('button', { name: 'Undo' }).click();
  await expect.poll(async () => (await pieceOf('One')).shelfEntry, PATIENCE).toEqual(referTo(entry));
  expect(tools.faults).toEqual([]);
});
