import type { Page } from 'playwright-core';
import { describe, expect, test } from 'vitest';
import { browserPages } from '../helpers/browser-pages.ts';
import { serveBuiltPage } from '../helpers/serve.ts';

import { preview } from 'vite';
import type { AddressInfo } from 'node:net';
async function serveMine() { const server = await preview({ build: { outDir: '/tmp/w/rescue/page2' }, preview: { port: 0, host: '127.0.0.1', open: false }, logLevel: 'error' }); const { port } = server.httpServer.address() as AddressInfo; return { url: `http://127.0.0.1:${port}/`, close: () => server.close() }; }
let page: Page;
const tools = browserPages({
  name: 'rescue',
  serve: serveMine,
  context: { viewport: { width: 1280, height: 800 } },
  onPage: (made) => {
    page = made;
  },
});

const step = (name: string) => page.getByRole('button', { name: new RegExp(`^${name}`) });
const nowCard = () => page.getByRole('region', { name: 'Proofs' }).getByRole('button', { name: /^Now/ });
const proven = () => nowCard().getByText(/rows ·/);
const uncleared = async () => Number(/([\d.]+) % uncleared/.exec((await proven().textContent()) ?? '')?.[1]);

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
    expect(await uncleared()).toBeGreaterThan(15);

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
    expect(await uncleared()).toBeLessThan(5);
    await page.getByRole('region', { name: 'Proofs' }).getByText('Proof 1').waitFor();

    await page.getByRole('button', { name: 'Undo' }).click();
    await nowCard().getByText('67 / 8 %', { exact: true }).waitFor();
    expect(tools.faults).toEqual([]);
  }, 600_000);

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
