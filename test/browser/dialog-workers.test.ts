import type { Page } from 'playwright-core';
import { expect, test } from 'vitest';
import { browserPages } from '../helpers/browser-pages.ts';
import { FAULTS, mortal, tinyPiece } from '../helpers/worker-faults.ts';

const PATIENCE_MS = 120_000;
const WORKERS = ['mask-worker', 'mockup-worker', 'pdf-worker'];

let page: Page;
/** Answered with 404 while they are in it. */
const missing = new Set<string>();
const tools = browserPages({
  name: 'dialog-workers',
  meddle: (path, text) => {
    const missed = [...missing].find((name) => path.includes(`/assets/${name}`));
    if (missed) return 404;
    const name = WORKERS.find((one) => path.includes(`/assets/${one}-`));
    return name ? mortal(name, text()) : null;
  },
  demo: () => tinyPiece('Tiny'),
  context: { viewport: { width: 1280, height: 800 }, acceptDownloads: true },
  onPage: (made) => {
    page = made;
    missing.clear();
  },
});

const press = (name: string | RegExp) => page.getByRole('button', { name }).first().click({ timeout: PATIENCE_MS });
const tell = (order: string) =>
  page.evaluate(([channel, text]) => new BroadcastChannel(channel).postMessage(text), [FAULTS, order]);

const proven = () =>
  page
    .getByRole('region', { name: 'Proofs' })
    .getByRole('button', { name: /^Now/ })
    .getByText(/rows ·.* left dark/)
    .waitFor({ timeout: PATIENCE_MS });

async function open(step: string): Promise<void> {
  await page.goto(tools.url);
  await page.getByRole('textbox', { name: 'Name of the piece' }).waitFor({ timeout: PATIENCE_MS });
  await press(new RegExp(`^${step}`));
}

test('a mask’s worker that dies, or is not there, leaves a sentence, and the next mark finds the edge once it is', async () => {
  await open('Picture');
  missing.add('mask-worker');
  await press(/mask…$/i);
  const dialog = page.getByRole('dialog', { name: 'Mask' });
  const sheet = dialog.getByRole('application');
  const mark = async (key: string, times: number) => {
    await sheet.focus();
    for (let i = 0; i < times; i++) await page.keyboard.press(key);
    await page.keyboard.press('Space');
  };
  const found = () => dialog.getByText(/^The edge is found/);
  await dialog.getByRole('radio', { name: 'Find the edge' }).click();
  await mark('ArrowUp', 0);
  await dialog.getByRole('radio', { name: 'What goes' }).click();
  await mark('Shift+ArrowLeft', 8);
  await dialog.getByText(/works on masks could not be loaded/).waitFor({ timeout: PATIENCE_MS });
  missing.clear();
  // A mark that the lost worker was still asked about ends with the sentence; the one after it is answered.
  const findBy = async (key: string) => {
    const ended = dialog.getByText(/works on masks (could not be loaded|was ended)/);
    await mark(key, 3);
    await found().or(ended).first().waitFor({ timeout: PATIENCE_MS });
    if ((await ended.count()) > 0) await mark(key, 1);
    await found().waitFor({ timeout: PATIENCE_MS });
  };
  await findBy('Shift+ArrowUp');
  await tell('close mask-worker');
  await findBy('Shift+ArrowDown');
  await page.keyboard.press('Escape');
  expect(tools.faults.filter((fault) => !/404/.test(fault))).toEqual([]);
});

test('a mock-up’s worker that dies in the middle of a clip ends it with a sentence, and the slab is drawn again', async () => {
  await open('Hand over');
  await proven();
  await press(/^For the client/);
  await press('Open the mock-up');
  await page.locator('.mockup-view canvas[data-drawn]').waitFor({ timeout: PATIENCE_MS });
  const dialog = page.getByRole('dialog', { name: 'Mock-up for the client' });
  await dialog.getByRole('button', { name: 'Save it turning' }).click();
  await dialog.getByRole('button', { name: 'Stop' }).waitFor();
  await tell('close mockup-worker');
  await dialog.getByText(/draws mock-ups was ended by the browser/).waitFor({ timeout: PATIENCE_MS });
  await dialog.getByRole('button', { name: 'Lay the proof on the slab' }).click();
  await page.locator('.mockup-view canvas[data-drawn]').waitFor({ timeout: PATIENCE_MS });
  expect(tools.faults).toEqual([]);
});

test('a part of the page that does not load fails by itself, and is there when it is tried again', async () => {
  await open('Picture');
  missing.add('GridDialog');
  await press('Grid…');
  const fault = page.getByRole('alert').filter({ hasText: 'The bar of proofs cannot be shown' });
  await fault.waitFor();
  // The rest goes on.
  await page.getByRole('textbox', { name: 'Name of the piece' }).fill('Still here');
  const [file] = await Promise.all([
    page.waitForEvent('download'),
    fault.getByRole('button', { name: 'Save the piece as a file' }).click(),
  ]);
  expect(file.suggestedFilename()).toMatch(/\.foreburn$/);
  missing.clear();
  await fault.getByRole('button', { name: 'Try again' }).click();
  await press('Grid…');
  await page.getByRole('dialog', { name: 'Grid of proofs' }).waitFor({ timeout: PATIENCE_MS });
});

test('what goes wrong where nobody looks is told as a notice, once', async () => {
  await open('Picture');
  await page.evaluate(() => {
    for (let i = 0; i < 3; i++) setTimeout(() => Promise.reject(new Error('out of nowhere')));
  });
  const notice = page.locator('.notice').filter({ hasText: 'Something went wrong (out of nowhere)' });
  await notice.waitFor();
  await notice.getByRole('button').click();
  await page.evaluate(() => Promise.reject(new Error('out of nowhere'))).catch(() => {});
  await page.evaluate(() => {
    setTimeout(() => Promise.reject(new Error('out of nowhere')));
  });
  await page.waitForTimeout(200);
  expect(await notice.count()).toBe(0);
});

test('a slab whose graphics card does not come back says so, and a button shows it again', async () => {
  await open('Passes');
  await proven();
  await page.evaluate(() => {
    const canvas = document.querySelector<HTMLCanvasElement>('.slab-view canvas');
    canvas?.getContext('webgl2')?.getExtension('WEBGL_lose_context')?.loseContext();
  });
  const fault = page.getByRole('alert').filter({ hasText: 'The slab cannot be shown' });
  await fault.getByText(/graphics card stopped and did not come back/).waitFor({ timeout: PATIENCE_MS });
  // Told where the slab was, and not a second time as a fault that nobody foresaw.
  expect(await page.getByText('If the page no longer answers').count()).toBe(0);
  // The rest of the page is as it was.
  await page
    .getByRole('region', { name: 'Proofs' })
    .getByText(/rows ·.* left dark/)
    .waitFor();
  await fault.getByRole('button', { name: 'Try again' }).click();
  await page.locator('.slab-view canvas').waitFor({ timeout: PATIENCE_MS });
  expect(await fault.count()).toBe(0);
});
