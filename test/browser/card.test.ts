import type { Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { sharedChromium, sourcesUrl } from '../helpers/shared.ts';
import { CARD_JOBS } from '../parity/card-jobs.ts';

let page: Page;

beforeAll(async () => {
  page = await (await sharedChromium()).newPage();
  page.on('console', (m) => console.log(m.text()));
  await page.goto(`${sourcesUrl()}test/parity/harness/card.html`);
  await page.waitForFunction(() => 'compareCard' in window, null, { timeout: 60_000 });
});
afterAll(async () => {
  await page?.context().close();
});

test.each(CARD_JOBS.map(({ name }) => name))('%s comes out on a card as on the processor', async (name) => {
  const found = await page.evaluate((wanted) => window.compareCard(wanted), name);
  console.log(
    JSON.stringify({
      ...found,
      stats: { card: { ...found.stats.card, histogram: 0 }, processor: { ...found.stats.processor, histogram: 0 } },
    }),
  );
  expect(found.taken).toBe(true);
});
