import type { Page } from 'playwright-core';
import sharp from 'sharp';
import { describe, expect, test } from 'vitest';
import { browserPages } from '../helpers/browser-pages.ts';

let page: Page;
const tools = browserPages({
  name: 'rescue',
  context: { viewport: { width: 1280, height: 800 } },
  onPage: (made) => {
    page = made;
  },
});

const step = (name: string) => page.getByRole('button', { name: new RegExp(`^${name}`) });
const nowCard = () => page.getByRole('region', { name: 'Proofs' }).getByRole('button', { name: /^Now/ });
const proven = () => nowCard().getByText(/rows ·.* left dark/);
const uncleared = async () => Number(/([\d.]+) % left dark/.exec((await proven().textContent()) ?? '')?.[1]);

describe('a piece whose first pass was ten points too weak', () => {
  test('gets a second pass that clears it, compared under the wipe, and undo takes it back', async () => {
    await page.goto(tools.url);
    await proven().waitFor({ timeout: 120_000 });
    const field = page.getByRole('textbox', { name: 'Light-end power' }).first();
    if (!(await field.isVisible())) await step('Passes').click();
    await field.fill('67');
    await field.press('Enter');
    await nowCard().getByText('67 / 8 %').waitFor();
    await proven().waitFor({ timeout: 120_000 });
    const before = await uncleared();
    // Most of the light dots keep residue.
    expect(before).toBeGreaterThan(50);

    await step('Proof').click();
    await page.getByRole('button', { name: /^Rescue/ }).click();
    await page.getByRole('button', { name: 'Find the rescuing pass' }).click();
    const found = page.getByRole('region', { name: 'The rescuing pass' });
    await found.waitFor({ timeout: 240_000 });
    await found.getByText(/at the light end and 0 % at the dark end/).waitFor();
    await found.getByText('Does nothing one can see.').first().waitFor();
    await found.getByRole('button', { name: 'Show the change' }).click();
    await found.getByText(/The stronger the blue/).waitFor();

    await found.getByRole('button', { name: 'Add this pass' }).click();
    await page.getByText(/^Pass 2 is added/).waitFor();
    await nowCard()
      .getByText(/67 \/ 8 % \+ \d+ \/ 0 %/)
      .waitFor();
    await proven().waitFor({ timeout: 240_000 });
    // The middle of all that paint and beam may be, far from what the first pass left.
    expect(await uncleared()).toBeLessThan(before / 3);
    await page.getByRole('region', { name: 'Proofs' }).getByText('Proof 1').waitFor();

    await page.getByRole('button', { name: 'Undo' }).click();
    await nowCard().getByText('67 / 8 %', { exact: true }).waitFor();
    expect(tools.faults).toEqual([]);
  }, 600_000);

  test('a photograph of something else is told so, and its corners can be dragged', async () => {
    const grain = await sharp({
      create: {
        width: 600,
        height: 480,
        channels: 3,
        background: '#8a8172',
        noise: { type: 'gaussian', mean: 128, sigma: 40 },
      },
    })
      .jpeg()
      .toBuffer();
    await page.goto(tools.url);
    await step('Proof').click();
    await page.getByRole('button', { name: /^Rescue/ }).click();
    await page.getByRole('button', { name: /^From a photograph of it/ }).click();
    const [chooser] = await Promise.all([
      page.waitForEvent('filechooser'),
      page.getByRole('button', { name: 'Open a photograph…' }).click(),
    ]);
    await chooser.setFiles({ name: 'grain.jpg', mimeType: 'image/jpeg', buffer: grain });
    await page.getByText(/^The slab was not recognised/).waitFor({ timeout: 120_000 });
    const corner = page.getByRole('slider', { name: 'Left top corner' });
    const place = async () => Number(await corner.getAttribute('aria-valuenow'));
    await corner.focus();
    const before = await place();
    await page.keyboard.press('Shift+ArrowRight');
    expect(await place()).toBe(before + 10);
    await page.getByRole('button', { name: 'Lay them closer' }).waitFor();
    expect(tools.faults).toEqual([]);
  }, 300_000);

  test('a test strip says what its bands come out as and takes in which was clear', async () => {
    await page.goto(tools.url);
    await step('Proof').click();
    await page.getByRole('button', { name: /^Test strip/ }).click();
    await page.getByRole('button', { name: 'Show the strip' }).click({ timeout: 120_000 });
    const strip = page.getByRole('region', { name: 'The test strip' });
    await strip.waitFor({ timeout: 240_000 });
    expect(await strip.getByRole('row').count()).toBe(6);
    await strip.getByRole('img', { name: /The strip as it will look/ }).waitFor();
    await strip
      .getByRole('button', { name: /Not looked yet/ })
      .first()
      .click();
    await page.getByRole('option', { name: /^Band 4/ }).click();
    await strip.getByRole('button', { name: 'Take it in' }).click();
    await page.getByText(/^Taken in: the top coat’s threshold changes by/).waitFor({ timeout: 240_000 });
    expect(await page.getByRole('button', { name: 'Undo' }).isEnabled()).toBe(true);
    expect(tools.faults).toEqual([]);
  }, 600_000);
});
