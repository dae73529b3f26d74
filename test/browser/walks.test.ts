import type { Page } from 'playwright-core';
import { describe, expect, test } from 'vitest';
import { createPiece } from '../../src/piece/defaults.ts';
import { encodePieceFile } from '../../src/piece/file.ts';
import { LIKELY, OPEN } from '../../src/studies/diagnose/finding.ts';
import { browserPages } from '../helpers/browser-pages.ts';
import { flatPhoto } from '../helpers/tiny-piece.ts';

/** A small piece that comes out blotchy: half the power that its paint asks for. */
async function weakPiece(): Promise<Buffer> {
  const piece = createPiece('Weak', 'weak.jpg');
  const [pass] = piece.passes;
  const weak = {
    ...piece,
    slab: { ...piece.slab, widthMm: 30, heightMm: 24 },
    picture: { ...piece.picture, widthMm: 10 },
    passes: [{ ...pass, lightEndPower: 0.45 }],
  };
  const images = new Map([['weak.jpg', new Uint8Array(await flatPhoto(235, 120, 90))]]);
  return Buffer.from(encodePieceFile({ piece: weak, images }));
}

let page: Page;
const tools = browserPages({
  name: 'walks',
  demo: weakPiece,
  view: false,
  firstVisit: true,
  onPage: (made) => {
    page = made;
  },
});

const PATIENCE = { timeout: 240_000 };
const verdict = () => page.getByRole('region', { name: 'Will it come out?' });
/** In how many of 100 likely cases it comes out, as the step of the proof says. */
const odds = async (): Promise<number> => {
  const step = page.getByRole('button', { name: /^Proof/ }).first();
  await expect.poll(() => step.textContent(), PATIENCE).toMatch(/of 100/);
  return Number(/(\d+) of 100/.exec((await step.textContent()) ?? '')?.[1]);
};

describe.each([
  [1440, 900],
  [390, 844],
])('a maker at %d × %d who has never seen the page', (width, height) => {
  test('comes from the photograph to the first proof in five presses at most', async () => {
    await page.setViewportSize({ width, height });
    await page.goto(tools.url);
    let presses = 0;
    const press = (name: string) => {
      presses++;
      return page.getByRole('button', { name }).click(PATIENCE);
    };
    const [chooser] = await Promise.all([page.waitForEvent('filechooser', PATIENCE), press('Open a photograph…')]);
    await chooser.setFiles({ name: 'mill.jpg', mimeType: 'image/jpeg', buffer: await flatPhoto(200, 60, 45) });
    await page.getByText('mill.jpg, 60 × 45 pixels').waitFor(PATIENCE);
    await press('See the proof');
    await page
      .getByRole('region', { name: 'Proofs' })
      .getByText(/rows ·/)
      .waitFor(PATIENCE);
    expect(presses).toBeLessThanOrEqual(5);
    expect(tools.faults).toEqual([]);
  });

  test('comes from a blotchy verdict to settings that clear in three presses at most', async () => {
    await page.setViewportSize({ width, height });
    await page.goto(`${tools.url}#demo`);
    await verdict()
      .getByText(/likely case/)
      .waitFor(PATIENCE);
    expect(await odds()).toBeLessThan(100 * OPEN);
    let presses = 0;
    // The first thing that the verdict offers, again and again.
    while ((await odds()) < 100 * LIKELY && presses < 4) {
      const before = await verdict().textContent();
      presses++;
      await verdict().getByRole('button').first().click(PATIENCE);
      await expect.poll(() => verdict().textContent(), PATIENCE).not.toBe(before);
      await verdict()
        .getByText(/likely case/)
        .waitFor(PATIENCE);
    }
    expect(presses).toBeLessThanOrEqual(3);
    expect(tools.faults).toEqual([]);
  });
});
