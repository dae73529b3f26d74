import type { Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import type { SwathStats } from '../../src/burn/swath-task.ts';
import { sharedChromium, sourcesUrl } from '../helpers/shared.ts';
import { CARD_JOBS } from '../parity/card-jobs.ts';

/**
 * Whole jobs on a card, here software in its place, against swaths on the processor, cell for cell. The law is the same by construction;
 * what is proved is what stands round it in the shaders: places, lag, beam along the rows, heat, focus, colours, counts.
 */
let page: Page;

beforeAll(async () => {
  page = await (await sharedChromium()).newPage();
  await page.goto(`${sourcesUrl()}test/parity/harness/card.html`);
  await page.waitForFunction(() => 'compareCard' in window, null, { timeout: 60_000 });
});
afterAll(async () => {
  await page?.context().close();
});

const countsOf = ({ residueSumUm: _, maxDepthUm: __, histogram, ...counts }: SwathStats) => ({
  ...counts,
  histogram: Object.values(histogram),
});

test.each(CARD_JOBS.map(({ name }) => name))('%s comes out on a card as on the processor', async (name) => {
  const found = await page.evaluate((wanted) => window.compareCard(wanted), name);
  expect(found.taken).toBe(true);
  expect(found.color).toBeLessThanOrEqual(1);
  // Where single precision rounds the other way a colour may be the next one of its table.
  expect(found.colorCells).toBeLessThan(0.01 * found.cells);
  expect(found.heightSteps).toBeLessThanOrEqual(1);
  expect(found.scorch).toBeLessThan(0.001);
  expect(found.through).toBe(0);
  expect(found.shown).toBe(0);
  expect(found.opensWood[0]).toBe(found.opensWood[1]);
  const { card, bands, processor } = found.stats;
  expect(countsOf(card)).toEqual(countsOf(processor));
  expect(countsOf(bands)).toEqual(countsOf(processor));
  expect(Math.abs(card.residueSumUm - processor.residueSumUm)).toBeLessThan(0.001 * Math.max(1, card.lightCells));
  expect(Math.abs(card.maxDepthUm - processor.maxDepthUm)).toBeLessThan(0.02);
  // Something was burned, or the comparison would be of nothing.
  expect(processor.maxDepthUm).toBeGreaterThan(1);
});
