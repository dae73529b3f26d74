import type { Page } from 'playwright-core';
import { expect, test } from 'vitest';
import { browserPages } from '../helpers/browser-pages.ts';
import { FAULTS, lateStrips, numbCard, slowClock, tinyPiece } from '../helpers/worker-faults.ts';

/**
 * The page with a graphics card that burns: software in its place, which wins its trial because the workers are held up. Whether a card is
 * quick is no matter here, but what is shown and said is.
 */
const PATIENCE_MS = 120_000;

let page: Page;
let cardWins = false;
const tools = browserPages({
  name: 'card',
  demo: () => tinyPiece('Tiny'),
  together: true,
  context: { viewport: { width: 1100, height: 800 }, acceptDownloads: true },
  meddle(path, text) {
    if (!cardWins || !path.endsWith('.js')) return null;
    if (path.includes('/assets/proof-worker-')) return numbCard(slowClock(text()));
    return path.includes('/assets/swath-worker-') ? lateStrips(text()) : null;
  },
  onPage(made) {
    page = made;
  },
});

const nowCard = () => page.getByRole('region', { name: 'Proofs' }).getByRole('button', { name: /^Now/ });
const judged = () =>
  nowCard()
    .getByText(/rows ·.* left dark/)
    .waitFor({ timeout: PATIENCE_MS });

async function step(name: string): Promise<void> {
  const button = page.locator('.step-button', { hasText: name }).first();
  if ((await button.getAttribute('aria-expanded')) !== 'true') await button.click();
}

async function burnAt(percent: string): Promise<void> {
  await step('Passes');
  const field = page.getByRole('textbox', { name: 'Light-end power' }).first();
  await field.fill(percent);
  await field.press('Enter');
  await nowCard().getByText(`${percent} / 8 %`).waitFor();
  await judged();
}

/** Who burned it, and the numbers that come straight from the cells. */
async function said(): Promise<{ by: string; numbers: string }> {
  await step('Proof');
  const by = await page.locator('.small-print', { hasText: 'Burned' }).first().textContent();
  const deepest = await page.getByText('Deepest place').locator('..').textContent();
  return {
    by: by ?? '',
    numbers: `${/[\d.]+ % left dark/.exec((await nowCard().textContent()) ?? '')?.[0]} ${deepest}`,
  };
}

/** How much there is to see on the slab: a blank one makes a small file. */
const detail = async () => (await page.locator('canvas').first().screenshot()).length;

const byPool = new Map<string, string>();

test('software in place of a card loses its trial, and the page says so', async () => {
  await page.goto(tools.url);
  await judged();
  for (const power of ['60', '80']) {
    await burnAt(power);
    const { by, numbers } = await said();
    expect(by).toMatch(/^Burned by (one|\d+) workers?: faster here than the card\.$/);
    byPool.set(power, numbers);
  }
  expect(byPool.get('60')).not.toBe(byPool.get('80'));
  expect(tools.faults).toEqual([]);
});

test('a card that wins burns what the workers burn', async () => {
  cardWins = true;
  await page.reload();
  await judged();
  await burnAt('60');
  expect(await said()).toEqual({ by: 'Burned on the graphics card.', numbers: byPool.get('60') });
  expect(tools.faults).toEqual([]);
});

test('what lies on the card can be read off and saved', async () => {
  const slab = await page.locator('canvas').first().boundingBox();
  if (!slab) throw new Error('there is no slab');
  await page.mouse.move(slab.x + slab.width * 0.6, slab.y + slab.height * 0.45);
  await page.locator('.readout', { hasText: 'Into wood' }).waitFor({ timeout: PATIENCE_MS });
  await step('Hand over');
  await page.getByRole('button', { name: /^Pictures and numbers/ }).click();
  const [file] = await Promise.all([
    page.waitForEvent('download', { timeout: PATIENCE_MS }),
    page.getByRole('button', { name: 'Save the proof', exact: false }).first().click(),
  ]);
  expect(file.suggestedFilename()).toMatch(/proof\.png$/);
});

test('a card that is lost and comes back shows and burns the same again', async () => {
  await page.mouse.move(1, 1);
  await page.waitForTimeout(3000);
  const before = await detail();
  await page.evaluate(async () => {
    const canvas = document.querySelector('canvas')!;
    const lose = canvas.getContext('webgl2')!.getExtension('WEBGL_lose_context')!;
    const back = new Promise((done) => canvas.addEventListener('webglcontextrestored', done, { once: true }));
    lose.loseContext();
    await new Promise((done) => setTimeout(done, 200));
    lose.restoreContext();
    await back;
  });
  const off = async () => Math.abs((await detail()) - before) / before;
  await expect.poll(off, { timeout: PATIENCE_MS, interval: 1000 }).toBeLessThan(0.05);
  await burnAt('80');
  expect(await said()).toEqual({ by: 'Burned on the graphics card.', numbers: byPool.get('80') });
});

test('a card that dies without a word shows nothing that it gave since', async () => {
  await page.evaluate((name) => {
    const orders = new BroadcastChannel(name);
    orders.postMessage('numb card');
    orders.close();
  }, FAULTS);
  await burnAt('60');
  const { by, numbers } = await said();
  expect(by).toMatch(/^Burned by (one|\d+) workers?: the graphics card failed\.$/);
  expect(numbers).toBe(byPool.get('60'));
});
