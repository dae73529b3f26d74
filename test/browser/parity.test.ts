import type { Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { sharedChromium, sourcesUrl } from '../helpers/shared.ts';
import type { Difference } from '../parity/harness/harness.ts';

/**
 * Backends in a real browser against the float64 reference, over the same cases as in Node. Proves indexing, edges, precision and
 * read-back, not physics: the formula is shared.
 */
let page: Page;

beforeAll(async () => {
  page = await (await sharedChromium()).newPage();
  await page.goto(`${sourcesUrl()}test/parity/harness/index.html`);
  await page.waitForFunction(() => 'compareBackend' in window, null, { timeout: 60_000 });
});
afterAll(async () => {
  await page?.context().close();
});

test('gpu.js agrees with the reference in every case', async () => {
  const { ran, differences } = await page.evaluate(() => window.compareBackend());
  expect(ran).toBe('cpu');
  expect(differences.length).toBeGreaterThan(5);
  const off = differences.filter(({ depthUm, excess }: Difference) => !(depthUm < 0.02) || !(excess < 0.001));
  // float32 keeps about seven digits: depths to 100 µm and doses to 10 J/mm² are right to far less than these bounds, but at a
  // threshold a last digit decides whether a crossing takes its first bite, which is as small.
  expect(off).toEqual([]);
});
