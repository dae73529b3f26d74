import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import type { Page } from 'playwright-core';
import { describe, expect, test } from 'vitest';
import { browserPages } from '../helpers/browser-pages.ts';
import { flatPhoto, tinyPiece } from '../helpers/tiny-piece.ts';

const AXE = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');

/** WCAG 2.2 AA, as far as axe can see it. */
const TAGS = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'];

let page: Page;
const tools = browserPages({
  name: 'axe',
  demo: () => tinyPiece('Demo'),
  view: false,
  firstVisit: true,
  context: { viewport: { width: 1280, height: 800 } },
  onPage: (made) => {
    page = made;
  },
});

const button = (name: string | RegExp) => page.getByRole('button', { name });

/** What axe finds, with where; what fades in has come to rest by then. */
async function violations(): Promise<string[]> {
  await page.waitForTimeout(400);
  await page.evaluate(AXE);
  return page.evaluate(async (tags) => {
    const { axe } = window as unknown as { axe: typeof import('axe-core') };
    const result = await axe.run(document, { runOnly: { type: 'tag', values: tags } });
    return result.violations.flatMap(({ id, nodes }) => nodes.map(({ target }) => `${id}: ${target.join(' ')}`));
  }, TAGS);
}

/** Names that two controls of one kind have, so that nobody can tell by ear which one they are in. */
const namedTwice = (): Promise<string[]> =>
  page.evaluate(() => {
    const { axe } = window as unknown as { axe: typeof import('axe-core') };
    axe.setup(document.body);
    const controls = [...document.querySelectorAll<HTMLElement>('.column input, .column select, .column textarea')]
      .filter(
        (control) =>
          control.closest('.step-place') && !control.closest('[aria-hidden=true]') && control.checkVisibility(),
      )
      .map((control) => `${control.getAttribute('type')} ${axe.commons.text.accessibleText(control)}`);
    axe.teardown();
    return controls.filter((name, i) => controls.indexOf(name) !== i);
  });

async function openDemo(): Promise<void> {
  await page.goto(`${tools.url}#demo`);
  await page
    .getByRole('region', { name: 'Proofs' })
    .getByText(/rows ·.* left dark/)
    .waitFor({ timeout: 240_000 });
}

const SCHEMES = ['light', 'dark'] as const;

describe.each(SCHEMES)('nothing stands in the way of a screen reader or weak eyes, %s', (colorScheme) => {
  test('where a piece is begun', async () => {
    await page.emulateMedia({ colorScheme });
    await page.goto(tools.url);
    await button('Look at the demo').waitFor({ timeout: 60_000 });
    expect(await violations()).toEqual([]);
  });

  test('in every step and on every page of it', async () => {
    await page.emulateMedia({ colorScheme });
    await openDemo();
    for (const step of ['Slab', 'Coats', 'Picture', 'Passes', 'Proof', 'Hand over']) {
      await button(new RegExp(`^${step}`))
        .first()
        .click();
      if (step === 'Passes') await button('Add a pass over it').click();
      expect(await violations(), step).toEqual([]);
      expect(await namedTwice(), step).toEqual([]);
      const pages = page.locator('.step-body .more-button');
      for (let i = 0; i < (await pages.count()); i++) {
        await pages.nth(i).click();
        expect(await violations(), `${step}, page ${i}`).toEqual([]);
        await page.locator('.more-page .page-back').last().click();
      }
    }
  });

  test('in every dialog', async () => {
    await page.emulateMedia({ colorScheme });
    await openDemo();
    const close = () => page.keyboard.press('Escape');
    const look = async (what: string) => {
      await page.getByRole('dialog').first().waitFor({ timeout: 60_000 });
      expect(await violations(), what).toEqual([]);
      await close();
      if (await page.getByRole('dialog').first().isVisible()) await button('Close').last().click();
      await page.getByRole('dialog').first().waitFor({ state: 'detached' });
    };
    await button('Pieces…').click();
    await look('pieces');
    await button('Grid…').click();
    await page.getByRole('application', { name: /^Crop at/ }).waitFor({ timeout: 60_000 });
    expect(await violations(), 'grid before it is computed').toEqual([]);
    await button(/^Compute the grid/).click();
    await page.getByText(/^Took/).waitFor({ timeout: 120_000 });
    await look('grid');
    await button('Pin').click();
    await button('Table…').click();
    await look('table');
    await button(/^Slab/).first().click();
    await button('From a photograph of the slab…').click();
    await look('slab’s photograph');
    await button(/^Picture/)
      .first()
      .click();
    await button('Mask…').click();
    await look('mask');
    await button(/^Passes/)
      .first()
      .click();
    await button('Calibrate with a card…').click();
    await look('calibration');
    await button(/^Proof/)
      .first()
      .click();
    await button(/^Rescue/).click();
    await button('From a photograph of it…').click();
    const [chooser] = await Promise.all([
      page.waitForEvent('filechooser'),
      page.getByRole('dialog').getByRole('button', { name: 'Open a photograph…' }).click(),
    ]);
    await chooser.setFiles({ name: 'burned.jpg', mimeType: 'image/jpeg', buffer: await flatPhoto(90, 400, 300) });
    await page.getByRole('slider', { name: 'Left top corner' }).waitFor({ timeout: 60_000 });
    await look('photograph of the burned slab');
    await button(/^Hand over/)
      .first()
      .click();
    await button(/^Watch it burn/).click();
    await button('Open the burn').click();
    await look('burn');
    await page.locator('.more-page .page-back').last().click();
    await button(/^For the client/).click();
    await button('Open the mock-up').click();
    await look('mock-up');
  });
});
