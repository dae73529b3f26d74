import type { Page } from 'playwright-core';
import { beforeEach, describe, expect, test } from 'vitest';
import { browserPages } from '../helpers/browser-pages.ts';
import type { Meddle } from '../helpers/serve.ts';
import { FAULTS, heldStrips, mortal, noCard, tinyPiece } from '../helpers/worker-faults.ts';

const PATIENCE_MS = 120_000;

let page: Page;
let meddle: Meddle = () => null;
const tools = browserPages({
  name: 'remote',
  meddle: (path, text) => meddle(path, text),
  view: false,
  context: { viewport: { width: 1280, height: 800 }, acceptDownloads: true },
  onPage: (made) => {
    page = made;
  },
});

const strip = () => page.getByRole('region', { name: 'Proofs' });
const nowCard = () => strip().getByRole('button', { name: /^Now/ });
const notice = () => page.locator('.notice');
const compute = () => strip().getByRole('button', { name: 'Compute', exact: true });
const proofDone = () =>
  nowCard()
    .getByText(/rows ·.* left dark/)
    .waitFor({ timeout: PATIENCE_MS });
const uncleared = async () => Number(/([\d.]+) % left dark/.exec((await nowCard().textContent()) ?? '')?.[1]);
/** A proof is under way, and stays so where strips are held. */
const burning = () =>
  nowCard()
    .getByText(/^computing the burn…/)
    .waitFor({ timeout: PATIENCE_MS });
const tell = (order: string) =>
  page.evaluate(([channel, text]) => new BroadcastChannel(channel).postMessage(text), [FAULTS, order]);

/** Opens the page on a small piece, whose proof takes a second or so. */
async function open(): Promise<void> {
  tools.openOn(await tinyPiece('Tiny'));
  await page.goto(tools.url);
}

const worker = (name: string, path: string): boolean => path.includes(`/assets/${name}-`) && path.endsWith('.js');
/** Workers of that name can be ended from the page. */
const mortals =
  (name: string): Meddle =>
  (path, text) =>
    worker(name, path) ? mortal(name, text()) : null;
/** The same, and a proof that is begun with these workers comes to no end until it is let go. */
const heldMortals =
  (name: string): Meddle =>
  (path, text) => {
    const program = () => (worker(name, path) ? mortal(name, text()) : text());
    if (worker('swath-worker', path)) return heldStrips(program());
    return worker('proof-worker', path) ? noCard(program()) : null;
  };

beforeEach(() => {
  meddle = () => null;
});

describe('a proof worker that does not load', () => {
  for (const [how, answer] of [
    ['is missing', () => 404],
    ['throws at once', () => 'throw new Error("broken");'],
  ] as const) {
    test(`because it ${how}: the page opens all the same and says what to do`, async () => {
      meddle = (path) => (worker('proof-worker', path) ? answer() : null);
      await open();
      await notice()
        .getByText(/computes proofs could not be loaded\. Check the connection/)
        .waitFor();
      await page.getByText('Opening the piece…').waitFor({ state: 'detached' });
      expect(await page.getByRole('button', { name: 'Open a photograph…' }).count()).toBe(1);
      // Once it loads, the next piece opens in the same page.
      meddle = () => null;
      await page.getByRole('button', { name: 'Look at the demo' }).click();
      await proofDone();
    });
  }
});

describe('a proof worker that dies under way', () => {
  for (const how of ['close', 'throw'] as const) {
    test(`by ${how}: the proof is made once more, and is the same`, async () => {
      meddle = mortals('proof-worker');
      await open();
      await proofDone();
      const right = await uncleared();
      meddle = heldMortals('proof-worker');
      await page.reload();
      await burning();
      meddle = () => null;
      await tell(`${how} proof-worker`);
      await notice()
        .getByText(/The proof is being computed once more\.$/)
        .waitFor();
      await proofDone();
      expect(await uncleared()).toBe(right);
    });
  }

  test('twice in a row: the card says so, and a button goes on', async () => {
    meddle = heldMortals('proof-worker');
    await open();
    for (let i = 0; i < 2; i++) {
      await burning();
      await tell('close proof-worker');
      await nowCard()
        .getByText(/^computing the burn…/)
        .waitFor({ state: 'detached' });
    }
    await nowCard()
      .getByText(/was ended by the browser/)
      .waitFor();
    meddle = () => null;
    await compute().click();
    await proofDone();
    // What is said of the slab's view, which is left away here, is another matter.
    expect(await page.getByText('Reload the page').filter({ hasNotText: 'no WebGL' }).count()).toBe(0);
  });

  test('ends every question that was under way, and its button asks again', async () => {
    meddle = mortals('proof-worker');
    await open();
    await proofDone();
    await page.locator('.step-button', { hasText: 'Proof' }).click();
    await page.getByRole('button', { name: /^Find settings/ }).click();
    const find = page.getByRole('button', { name: 'Find settings', exact: true }).last();
    await find.click();
    await page.locator('.task-progress').getByRole('button', { name: 'Stop' }).waitFor();
    await tell('close proof-worker');
    await page
      .locator('.study')
      .getByText(/was ended by the browser/)
      .waitFor({ timeout: PATIENCE_MS });
    await proofDone();
    await find.click();
    await page.locator('.task-progress').getByRole('button', { name: 'Stop' }).click();
    await find.waitFor();
  });

  test('while nothing is asked: the proof is made again, so that pictures of it can be saved', async () => {
    meddle = mortals('proof-worker');
    await open();
    await proofDone();
    await tell('close proof-worker');
    await notice()
      .getByText(/computed once more/)
      .waitFor();
    await proofDone();
    await page.getByRole('button', { name: /^Hand over/ }).click();
    await page.getByRole('button', { name: /^Pictures and numbers/ }).click();
    const [file] = await Promise.all([
      page.waitForEvent('download'),
      page.getByRole('button', { name: 'Save the proof', exact: false }).first().click(),
    ]);
    expect(file.suggestedFilename()).toMatch(/proof\.png$/);
  });
});

describe('a worker of the pool', () => {
  test('that dies is replaced, and the proof comes out as it would have', async () => {
    await open();
    await proofDone();
    const whole = await uncleared();
    meddle = heldMortals('swath-worker');
    await page.reload();
    await burning();
    meddle = () => null;
    await tell('close swath-worker');
    await proofDone();
    expect(await uncleared()).toBe(whole);
  });

  test('that does not load ends the proof with words, and the next one works once it does', async () => {
    meddle = (path) => (worker('swath-worker', path) ? 404 : null);
    await open();
    await nowCard()
      .getByText(/computes the rows of proofs could not be loaded/)
      .waitFor({ timeout: PATIENCE_MS });
    meddle = () => null;
    await compute().click();
    await proofDone();
  });
});

describe('a stopped proof', () => {
  test('leaves a button that goes on, and nothing that says it is still computed', async () => {
    meddle = heldMortals('swath-worker');
    await open();
    await burning();
    await strip().getByRole('button', { name: 'Stop' }).click();
    await nowCard()
      .getByText(/^stopped/)
      .waitFor();
    expect(await page.getByText('computing…').count()).toBe(0);
    await tell('let go');
    await compute().click();
    await proofDone();
  });
});
