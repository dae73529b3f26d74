import type { Page } from 'playwright-core';
import { describe, expect, test } from 'vitest';
import { browserPages } from '../helpers/browser-pages.ts';
import { tinyPiece } from '../helpers/tiny-piece.ts';

let page: Page;
const tools = browserPages({
  name: 'sizes',
  demo: () => tinyPiece('Demo'),
  view: false,
  context: { hasTouch: true, isMobile: true },
  onPage: (made) => {
    page = made;
  },
});

const LEAST_TARGET_PX = 44;
const LEAST_TEXT_PX = 13;
const STEPS = ['Slab', 'Coats', 'Picture', 'Passes', 'Proof', 'Hand over'];

/** Buttons and fields in sight that a finger may miss, with their sizes; links in running text are no targets of their own. */
const small = (least: number) =>
  page.evaluate((px) => {
    const found: string[] = [];
    for (const element of document.querySelectorAll<HTMLElement>('button, [role=radio], .value-box, .track')) {
      const { width, height } = element.getBoundingClientRect();
      if (width < 2 || !element.checkVisibility({ visibilityProperty: true })) continue;
      if (height < px - 0.5) found.push(`${element.textContent || element.className}: ${height.toFixed(0)} px high`);
    }
    return found;
  }, least);

/** Text in sight that is set too small. */
const tiny = (least: number) =>
  page.evaluate((px) => {
    const found: string[] = [];
    const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    for (let node = walker.nextNode(); node; node = walker.nextNode()) {
      const parent = node.parentElement as HTMLElement;
      if (!node.textContent?.trim() || parent.closest('svg') || !parent.checkVisibility()) continue;
      const size = Number.parseFloat(getComputedStyle(parent).fontSize);
      if (size < px) found.push(`${node.textContent.trim().slice(0, 40)}: ${size} px`);
    }
    return found;
  }, least);

describe.each([
  [820, 1180],
  [390, 844],
])('on a page of %d × %d', (width, height) => {
  test('fingers hit what is there, nothing is cut at its side, and the slab has half of it', async () => {
    await page.setViewportSize({ width, height });
    await page.goto(tools.url);
    await page
      .getByRole('region', { name: 'Proofs' })
      .getByText(/rows ·.* left dark/)
      .waitFor({ timeout: 240_000 });
    for (const step of STEPS) {
      await page
        .getByRole('button', { name: new RegExp(`^${step}`) })
        .first()
        .click();
      expect(await small(LEAST_TARGET_PX), step).toEqual([]);
      expect(await tiny(LEAST_TEXT_PX), step).toEqual([]);
    }
    const column = (await page.getByRole('complementary', { name: 'Steps' }).boundingBox())!;
    expect(column.y).toBeGreaterThanOrEqual(height / 2);
    expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(width);
    for (const part of await page.locator('.proof-bar button, .view-tools button, .head button').all()) {
      const box = await part.boundingBox();
      if (box) expect(box.x + box.width, (await part.textContent()) ?? '').toBeLessThanOrEqual(width);
    }
    // Dragged up, the sheet has nearly all of it.
    const grip = page.getByRole('button', { name: 'Height of the sheet' });
    const { x, y } = (await grip.boundingBox())!;
    await page.mouse.move(x + width / 2, y + 10);
    await page.mouse.down();
    await page.mouse.move(x + width / 2, 0.2 * height, { steps: 5 });
    await page.mouse.up();
    await expect
      .poll(async () => (await page.getByRole('complementary', { name: 'Steps' }).boundingBox())!.height)
      .toBeGreaterThan(0.8 * height);
  });
});

test('on a large page nothing is set too small either', async () => {
  await page.setViewportSize({ width: 1440, height: 900 });
  await page.goto(tools.url);
  await page.getByRole('textbox', { name: 'Name of the piece' }).waitFor({ timeout: 60_000 });
  for (const step of STEPS) {
    await page
      .getByRole('button', { name: new RegExp(`^${step}`) })
      .first()
      .click();
    expect(await tiny(LEAST_TEXT_PX), step).toEqual([]);
  }
});
