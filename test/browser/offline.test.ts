import { readdirSync } from 'node:fs';
import type { Page } from 'playwright-core';
import { describe, expect, test } from 'vitest';
import { browserPages } from '../helpers/browser-pages.ts';
import { nameOf } from '../helpers/kept-page.ts';
import { tinyPiece } from '../helpers/tiny-piece.ts';

let page: Page;
/** A later version is served. */
let isNext = false;
const tools = browserPages({
  name: 'offline',
  demo: () => tinyPiece('Demo'),
  view: false,
  firstVisit: true,
  offline: true,
  meddle: (path, text) => (isNext && path === '/offline.js' ? text().replace("'foreburn-", "'foreburn-next-") : null),
  onPage: (made) => {
    page = made;
  },
});

/** The worker that keeps the page has all of it, and answers. */
const kept = () =>
  page.evaluate(async () => {
    const { active } = await navigator.serviceWorker.ready;
    if (!navigator.serviceWorker.controller) {
      await new Promise((resolve) => navigator.serviceWorker.addEventListener('controllerchange', resolve));
    }
    return active?.state;
  });

describe('without a network', () => {
  test('the page opens after one visit, with all of its parts, and proves a piece', async () => {
    await page.goto(tools.url);
    await page.getByRole('button', { name: 'Look at the demo' }).waitFor({ timeout: 60_000 });
    await kept();
    await page.context().setOffline(true);
    await page.reload();
    await page.getByRole('button', { name: 'Look at the demo' }).click({ timeout: 60_000 });
    await expect.poll(() => nameOf(page).inputValue(), { timeout: 30_000 }).toBe('Demo');
    await page
      .getByRole('region', { name: 'Proofs' })
      .getByText(/rows ·.* left dark/)
      .waitFor({ timeout: 240_000 });
    await page.getByRole('button', { name: 'Pieces…' }).click();
    await page.getByRole('dialog', { name: 'Pieces kept in this browser' }).waitFor();
    // Whatever else the page may ask for is there too.
    const files = readdirSync('dist/page', { recursive: true, withFileTypes: true })
      .filter((entry) => entry.isFile() && entry.name !== 'offline.js')
      .map((entry) => `${entry.parentPath}/${entry.name}`.slice('dist/page/'.length));
    const missing = await page.evaluate(async (paths) => {
      const answers = await Promise.all(
        paths.map((path) =>
          fetch(path).then(
            ({ ok }) => ok,
            () => false,
          ),
        ),
      );
      return paths.filter((_, i) => !answers[i]);
    }, files);
    expect(files.length).toBeGreaterThan(30);
    expect(missing).toEqual([]);
    expect(tools.faults).toEqual([]);
  });

  test('a new version waits, is told, and is taken when the maker says so', async () => {
    await page.goto(tools.url);
    await page.getByRole('button', { name: 'Look at the demo' }).waitFor({ timeout: 60_000 });
    await kept();
    isNext = true;
    await page.reload();
    await page.getByText('A new version of Foreburn is ready.').waitFor({ timeout: 60_000 });
    const caches = () => page.evaluate(() => window.caches.keys());
    await Promise.all([page.waitForNavigation(), page.getByRole('button', { name: 'Load it now' }).click()]);
    await page.getByRole('button', { name: 'Look at the demo' }).waitFor({ timeout: 60_000 });
    await expect.poll(caches).toEqual([expect.stringMatching(/^foreburn-next-/)]);
  });
});
