import type { Page } from 'playwright-core';
import { describe, expect, test } from 'vitest';
import { decodePieceFile } from '../../src/piece/file.ts';
import { browserPages } from '../helpers/browser-pages.ts';
import { editStore, keptPiece, keptRecords, keptStores } from '../helpers/kept.ts';
import {
  doWithPiece,
  lookAtDemo,
  nameOf,
  noticeOf,
  openPage,
  openPhoto,
  openPieceFile,
  openStep,
  readDownload,
} from '../helpers/kept-page.ts';
import { flatPhoto, tinyPiece } from '../helpers/tiny-piece.ts';

let page: Page;
const tools = browserPages({
  name: 'store',
  demo: () => tinyPiece('Demo'),
  view: false,
  context: { viewport: { width: 1280, height: 800 }, acceptDownloads: true },
  onPage: (made) => {
    page = made;
  },
});
const { faults } = tools;

const PATIENCE = { timeout: 20_000 };
const rename = async (to: string, on = page) => nameOf(on).fill(to);
const keptName = async (on = page) => (await keptPiece(on))?.name ?? null;
const titles = async () => (await keptRecords(page)).map(({ title }) => title).sort();
const settled = (name: string) => expect.poll(() => keptName(), PATIENCE).toBe(name);
const showsName = (name: string, on = page) => expect.poll(() => nameOf(on).inputValue(), PATIENCE).toBe(name);
const says = (text: RegExp, on = page) => expect.poll(() => noticeOf(on).first().textContent(), PATIENCE).toMatch(text);
const button = (name: string | RegExp, on = page) => on.getByRole('button', { name });
const photoLine = (text: string) => page.getByText(text, { exact: false }).first().waitFor(PATIENCE);

/** A page of the same origin that keeps nothing itself. */
async function bare(): Promise<void> {
  await page.route('**/bare', (route) => route.fulfill({ body: '', contentType: 'text/html' }));
  await page.goto(`${tools.url}bare`);
}

describe('the piece on the table', () => {
  test('is not kept before it is changed if it is the demo, and then is', async () => {
    await openPage(page, tools.url);
    await page.waitForTimeout(1000);
    expect(await keptRecords(page)).toEqual([]);
    await rename('Mine');
    await settled('Mine');
    await page.reload();
    await showsName('Mine');
    expect(faults).toEqual([]);
  });

  test('comes back after a reload with its undo, its redo and its pins', async () => {
    await openPage(page, tools.url);
    await openPieceFile(page, 'Barn', await tinyPiece('Barn'));
    await openPhoto(page, 'second.jpg', await flatPhoto(90, 40, 30));
    await photoLine('second.jpg, 40 × 30 pixels');
    await page.waitForTimeout(700);
    await rename('Barn door');
    await button('Undo').click();
    await showsName('Barn');
    await page
      .getByRole('region', { name: 'Proofs' })
      .getByText(/rows ·.* left dark/)
      .waitFor({ timeout: 90_000 });
    await button('Pin').click();
    await expect.poll(async () => (await keptRecords(page))[0]?.pins.length, PATIENCE).toBe(1);
    await page.reload();
    await showsName('Barn');
    await photoLine('second.jpg, 40 × 30 pixels');
    await page.getByRole('button', { name: /^Proof 1/ }).waitFor(PATIENCE);
    await button('Redo').click();
    await showsName('Barn door');
    await button('Undo').click();
    await button('Undo').click();
    // Undo goes back to the photograph before, whose bytes came back too.
    await photoLine('Barn.jpg, 60 × 45 pixels');
    await page
      .getByRole('region', { name: 'Proofs' })
      .getByText(/rows ·.* left dark/)
      .waitFor({ timeout: 90_000 });
    expect(faults).toEqual([]);
  });

  test('is neither made into text nor written while a slider is moved', async () => {
    await page.addInitScript(() => {
      const counts = { texts: 0, writes: 0 };
      Object.assign(window, { counts });
      const { stringify } = JSON;
      JSON.stringify = ((value: unknown, ...rest: []) => {
        if ((value as { format?: string } | null)?.format === 'foreburn') counts.texts++;
        return stringify(value, ...rest);
      }) as typeof stringify;
      const { setItem } = Storage.prototype;
      Storage.prototype.setItem = function (key, value) {
        if (key === 'foreburn-piece') counts.writes++;
        setItem.call(this, key, value);
      };
    });
    await openPage(page, tools.url);
    await openStep(page, 'Passes');
    const slider = page.locator('.value-slider input[type="range"]').first();
    await slider.focus();
    const counts = () => page.evaluate(() => ({ ...(window as unknown as { counts: object }).counts }));
    await page.waitForTimeout(1000);
    const before = (await counts()) as { texts: number; writes: number };
    // All in one task: whatever is counted was done while the hand moved.
    const during = await slider.evaluate((input: HTMLInputElement) => {
      const counted = (window as unknown as { counts: { texts: number } }).counts;
      const set = Object.getOwnPropertyDescriptor(HTMLInputElement.prototype, 'value')!.set!;
      const start = counted.texts;
      for (let i = 0; i < 20; i++) {
        set.call(input, String(Number(input.value) - 1));
        input.dispatchEvent(new Event('input', { bubbles: true }));
        input.dispatchEvent(new Event('change', { bubbles: true }));
      }
      return counted.texts - start;
    });
    expect(during).toBe(0);
    await expect.poll(() => keptRecords(page), PATIENCE).toHaveLength(1);
    const after = (await counts()) as { texts: number; writes: number };
    // Once as it is, once as the step that undo goes back to.
    expect(after.texts - before.texts).toBeLessThanOrEqual(3);
    expect(after.writes).toBe(0);
  });
});

describe('several pieces', () => {
  test('stand side by side: another file, the demo and a bench sheet’s code take nobody’s place', async () => {
    await openPage(page, tools.url);
    await openPieceFile(page, 'First', await tinyPiece('First', 180));
    await settled('First');
    await openPieceFile(page, 'Second', await tinyPiece('Second', 120));
    await settled('Second');
    await lookAtDemo(page);
    await showsName('Demo');
    expect(await titles()).toEqual(['First', 'Second']);

    await button('Pieces…').click();
    const row = (name: string) => page.getByRole('listitem', { name, exact: true });
    await doWithPiece(page, 'First', 'Copy');
    await row('First (copy)').waitFor();
    await doWithPiece(page, 'First', 'Bin');
    await row('First').waitFor({ state: 'detached' });
    expect(await titles()).toEqual(['First (copy)', 'Second']);
    await button('Undo', page.getByRole('dialog') as unknown as Page).click();
    await row('First').waitFor();
    await page.getByRole('button', { name: 'Open First', exact: true }).click();
    await showsName('First');
    await openStep(page, 'Picture');
    await photoLine('First.jpg, 60 × 45 pixels');
    await rename('First, changed');
    await settled('First, changed');
    expect(await titles()).toEqual(['First (copy)', 'First, changed', 'Second']);
    expect(faults).toEqual([]);
  });

  test('let go of the photographs that none of them wants, and of no other', async () => {
    await openPage(page, tools.url);
    await openPieceFile(page, 'Same', await tinyPiece('Same', 180));
    await settled('Same');
    await button('Pieces…').click();
    const row = (name: string) => page.getByRole('listitem', { name, exact: true });
    await doWithPiece(page, 'Same', 'Copy');
    await row('Same (copy)').waitFor();
    await doWithPiece(page, 'Same (copy)', 'Bin');
    await row('Same (copy)').waitFor({ state: 'detached' });
    const { images, pieces } = await keptStores(page);
    expect(images.map(({ key }) => key)).toEqual((pieces[0].value as { images: string[] }).images);
  });
});

describe('two tabs', () => {
  test('of one browser cannot write over each other', async () => {
    await openPage(page, tools.url);
    await openPieceFile(page, 'Quay', await tinyPiece('Quay'));
    await settled('Quay');
    const second = await page.context().newPage();
    await openPage(second, tools.url);
    await says(/“Quay” is open in another tab\. This is a copy/, second);
    await showsName('Quay (copy)', second);
    // Looking alone makes no second piece.
    expect(await titles()).toEqual(['Quay']);
    await rename('Wharf', second);
    await expect.poll(titles, PATIENCE).toEqual(['Quay', 'Wharf']);
    await rename('Quay at dusk');
    await expect.poll(titles, PATIENCE).toEqual(['Quay at dusk', 'Wharf']);
    // Each tab finds its own again.
    await Promise.all([page.reload(), second.reload()]);
    await showsName('Quay at dusk');
    await showsName('Wharf', second);
    expect(faults).toEqual([]);
  });

  test('once the first is closed the second goes on with the piece', async () => {
    await openPage(page, tools.url);
    await openPieceFile(page, 'Quay', await tinyPiece('Quay'));
    await settled('Quay');
    const second = await page.context().newPage();
    await openPage(second, tools.url);
    await says(/another tab/, second);
    await button('I closed the other tab', second).click();
    await says(/another tab/, second);
    await page.close();
    await button('I closed the other tab', second).click();
    await showsName('Quay', second);
    await rename('Quay again', second);
    await expect.poll(() => keptName(second), PATIENCE).toBe('Quay again');
    expect(await keptRecords(second)).toHaveLength(1);
  });

  test('without Web Locks the first tab’s next change becomes a piece of its own, and says so', async () => {
    await page.context().addInitScript(() => Object.defineProperty(Navigator.prototype, 'locks', { value: undefined }));
    await openPage(page, tools.url);
    await openPieceFile(page, 'Quay', await tinyPiece('Quay'));
    await settled('Quay');
    const second = await page.context().newPage();
    await openPage(second, tools.url);
    await showsName('Quay', second);
    await rename('Quay, second tab', second);
    await expect.poll(titles, PATIENCE).toEqual(['Quay, second tab']);
    await rename('Quay, first tab');
    await expect.poll(titles, PATIENCE).toEqual(['Quay, first tab', 'Quay, second tab']);
    await says(/taken over by another tab/);
    const { images } = await keptStores(page);
    expect(images).toHaveLength(1);
  });
});

describe('what cannot be read', () => {
  const spoil: Record<string, { edit: (piece: string) => string; says: RegExp }> = {
    'cut off': { edit: (piece) => piece.slice(0, 200), says: /“Kept” cannot be opened: the piece is damaged/ },
    'of a newer version': {
      edit: (piece) => piece.replace(/"version":\d+/, '"version":99'),
      says: /“Kept” cannot be opened: the piece was saved by a newer Foreburn/,
    },
  };
  test.each(Object.keys(spoil))('a piece %s stays as it is, is told and can be saved as a file', async (kind) => {
    await openPage(page, tools.url);
    await openPieceFile(page, 'Kept', await tinyPiece('Kept', 150));
    await settled('Kept');
    const [record] = await keptRecords(page);
    const spoilt = spoil[kind].edit(record.piece);
    await bare();
    await editStore(page, 'pieces', { piece: spoilt });
    await openPage(page, tools.url);
    await says(spoil[kind].says);
    await showsName('Demo');
    const [file] = await Promise.all([page.waitForEvent('download'), button('Save it as a file').click()]);
    const bytes = Buffer.from(await readDownload(file));
    expect(() => decodePieceFile(new Uint8Array(bytes))).toThrow(/damaged|newer/);
    expect(bytes.includes('images/Kept.jpg')).toBe(true);
    // What is made now goes beside it.
    await rename('Other');
    await expect.poll(titles, PATIENCE).toEqual(['Kept', 'Other']);
    const kept = (await keptRecords(page)).find(({ id }) => id === record.id)!;
    expect(kept).toEqual({ ...record, piece: spoilt });
    expect((await keptStores(page)).images).toHaveLength(2);
    await button('Pieces…').click();
    await page.getByRole('listitem', { name: 'Kept' }).getByRole('button', { name: 'Save as a file' }).waitFor();
  });

  test('a piece whose photograph is gone opens without it, and goes on when that file is opened again', async () => {
    const photo = await flatPhoto(150);
    await openPage(page, tools.url);
    await openPieceFile(page, 'Kept', await tinyPiece('Kept', 150));
    await settled('Kept');
    const [record] = await keptRecords(page);
    await bare();
    await editStore(page, 'images', null);
    await openPage(page, tools.url);
    await says(/“Kept” is open, but its photograph Kept\.jpg is missing or damaged/);
    await rename('Kept on');
    await settled('Kept on');
    await openPhoto(page, 'Kept.jpg', photo);
    await expect.poll(async () => (await keptStores(page)).images.length, PATIENCE).toBe(1);
    const [after] = await keptRecords(page);
    expect(after.id).toBe(record.id);
    expect(after.photo).toEqual(record.photo);
  });
});

describe('storage that fails', () => {
  test('for want of room is told once, with a file to save, and is made good when there is room again', async () => {
    await openPage(page, tools.url);
    const client = await page.context().newCDPSession(page);
    const quota = (quotaSize?: number) =>
      client.send('Storage.overrideQuotaForOrigin', { origin: new URL(tools.url).origin, quotaSize });
    // Before the first write: the browser believes for half a minute in the room that it has found.
    await quota(1000);
    await openPhoto(page, 'large.jpg', await flatPhoto(40, 300, 200));
    await says(/The latest changes are not kept: this browser has no room left/);
    await button('Dismiss').click();
    await rename('Roomier');
    await page.waitForTimeout(4500);
    // Told once; the mark stays.
    expect(await noticeOf(page).first().textContent()).toBe('');
    await page.getByText('Not kept: this browser has no room left.').waitFor();
    expect(await keptRecords(page)).toEqual([]);
    const [file] = await Promise.all([page.waitForEvent('download'), button('Save it as a file').click()]);
    const { images } = decodePieceFile(await readDownload(file));
    expect([...images.keys()]).toEqual(['large.jpg']);
    // Another piece does not take its place without a word.
    await rename('Roomiest');
    await lookAtDemo(page);
    await says(/“Roomiest” is not kept in this browser yet/);
    await showsName('Roomiest');

    await quota();
    await expect.poll(() => keptName(), { timeout: 60_000 }).toBe('Roomiest');
    await page.getByText('Not kept:').waitFor({ state: 'detached', ...PATIENCE });
    const [after] = await keptRecords(page);
    const { images: stored } = await keptStores(page);
    expect(stored.map(({ key }) => key)).toContain(after.photo!.key);
    await page.reload();
    await showsName('Roomiest');
    await openStep(page, 'Picture');
    await photoLine('large.jpg, 300 × 200 pixels');
  });

  test('because it is switched off is told, and the page works', async () => {
    await page.addInitScript(() => {
      IDBFactory.prototype.open = () => {
        throw new DOMException('storage is switched off', 'SecurityError');
      };
    });
    await openPage(page, tools.url);
    await says(/What is kept in this browser cannot be reached.*safe only as a file/);
    await rename('Only here');
    await says(/The latest changes are not kept/);
    await button('Save it as a file').first().waitFor();
    await showsName('Only here');
  });
});

describe('photographs', () => {
  /** Counts the photographs that the proof worker has decoded, by width, and those that it is told to forget. */
  const watchWorker = () =>
    page.addInitScript(() => {
      const forgotten: string[] = [];
      const ready: number[] = [];
      Object.assign(window, { forgotten, ready });
      window.Worker = new Proxy(Worker, {
        construct(Own, [url, options]: [URL, WorkerOptions]) {
          const worker = new Own(url, options);
          const photos = new Set<number>();
          worker.addEventListener('message', ({ data }) => {
            if (data?.kind === 'answer' && photos.has(data.ticket)) ready.push(data.gets.width);
          });
          const send = worker.postMessage.bind(worker) as (message: unknown, transfer?: unknown) => void;
          worker.postMessage = (
            message: { name?: string; ticket: number; asks?: { key: string } },
            transfer?: unknown,
          ) => {
            if (message?.name === 'photo') photos.add(message.ticket);
            if (message?.name === 'forget-photo' && message.asks) forgotten.push(message.asks.key);
            send(message, transfer);
          };
          return worker;
        },
      });
    });
  const seen = (what: 'forgotten' | 'ready') =>
    page.evaluate((name) => (window as unknown as Record<string, unknown[]>)[name], what);

  test('the one opened last stays, though one opened before it is ready later', async () => {
    await watchWorker();
    await openPage(page, tools.url);
    const large = await flatPhoto(128, 6000, 4500);
    const small = await flatPhoto(60, 50, 40);
    await openPhoto(page, 'large.jpg', large);
    await openPhoto(page, 'small.jpg', small);
    await expect.poll(() => seen('ready'), { timeout: 120_000 }).toContain(6000);
    await page.waitForTimeout(300);
    await photoLine('small.jpg, 50 × 40 pixels');
    await expect.poll(async () => (await keptRecords(page))[0]?.photo?.name, PATIENCE).toBe('small.jpg');
    // The late one is not held on to.
    expect(await seen('forgotten')).toHaveLength(1);
  });

  test('that undo cannot want any more are let go of, here, in the worker and in the storage', async () => {
    await watchWorker();
    await openPage(page, tools.url);
    await openPieceFile(page, 'Quay', await tinyPiece('Quay'));
    await openPhoto(page, 'tried.jpg', await flatPhoto(77));
    await photoLine('tried.jpg');
    await expect.poll(async () => (await keptStores(page)).images?.length, PATIENCE).toBe(2);
    const tried = (await keptRecords(page))[0].photo!.key;
    await button('Undo').click();
    await photoLine('Quay.jpg');
    await page.waitForTimeout(1000);
    // Redo may still want it.
    expect(await seen('forgotten')).not.toContain(tried);
    expect((await keptStores(page)).images).toHaveLength(2);
    await rename('Quay, after all');
    await expect.poll(() => seen('forgotten'), PATIENCE).toContain(tried);
    await expect.poll(async () => (await keptStores(page)).images.length, PATIENCE).toBe(1);
  });
});
