import type { Page } from 'playwright-core';
import { describe, expect, test } from 'vitest';
import { browserPages } from '../helpers/browser-pages.ts';

let page: Page;
const tools = browserPages({
  name: 'diagnosis',
  together: true,
  context: { viewport: { width: 1280, height: 800 } },
  onPage: (made) => {
    page = made;
  },
});

const step = (name: string) => page.getByRole('button', { name: new RegExp(`^${name}`) });
const findings = () => page.getByRole('region', { name: 'What will go wrong' });
const nowCard = () => page.getByRole('region', { name: 'Proofs' }).getByRole('button', { name: /^Now/ });

let opened = false;
/** The demo piece with its proof, which both tests go on with. */
async function open(): Promise<void> {
  if (!opened) await page.goto(tools.url);
  opened = true;
  await nowCard()
    .getByText(/rows ·.* left dark/)
    .waitFor({ timeout: 120_000 });
}

describe('the demo piece', () => {
  test('tone chart and figures are told, and noise falls with the viewing distance', async () => {
    await open();
    await step('Proof').click();
    await page.getByRole('button', { name: 'Tones and evenness' }).click({ timeout: 180_000 });
    expect(await page.getByRole('img', { name: /^Tone chart\./ }).getAttribute('aria-label')).toMatch(
      /100 %: power \d+ %, residue [\d.]+ µm, L\* \d+ \(\d+ to \d+\)/,
    );
    const seen = async () =>
      Number(
        /([\d.]+) L\*/.exec(
          (await page.getByText('Unevenness seen from there').locator('xpath=..').textContent()) ?? '',
        )?.[1],
      );
    const near = await seen();
    const distance = page.getByRole('textbox', { name: 'Viewing distance' });
    await distance.fill('2000');
    await distance.press('Enter');
    await expect.poll(seen).toBeLessThan(near);
  }, 300_000);

  test('with ten points too little power: the first finding says so, its place is shown, and its button leads to a proof that clears', async () => {
    await open();
    await step('Passes').click();
    const field = page.getByRole('textbox', { name: 'Light-end power' }).first();
    if (!(await field.isVisible())) await step('Passes').click();
    await field.fill('67');
    await field.press('Enter');
    await nowCard().getByText('67 / 8 %').waitFor();
    await step('Proof').click();
    const first = findings().getByRole('listitem').first();
    await first.getByText(/of the light areas’ dots will keep dark residue/).waitFor({ timeout: 120_000 });
    await first.getByText('Will spoil it').waitFor();

    // The same stands on the slab, whichever step is open, with the same way out.
    const verdict = page.getByRole('region', { name: 'Will it come out?' });
    const sentence = await findings().getByRole('status').textContent();
    await verdict.getByText(sentence ?? 'nothing', { exact: true }).waitFor();
    await verdict.getByRole('button', { name: /^Set the light end to \d+ %/ }).waitFor();
    await verdict.getByRole('button', { name: 'Burn a card first…' }).waitFor();

    await first.getByRole('button', { name: /^Show it/ }).click();
    expect(await page.getByRole('switch', { name: 'Mark places left dark' }).isChecked()).toBe(true);

    await first.getByRole('button', { name: /^Set the light end to \d+ %/ }).click();
    await nowCard()
      .getByText(/(7|8|9|10)\d \/ 8 %/)
      .waitFor();
    const card = nowCard().getByText(/rows ·.* left dark/);
    await card.waitFor({ timeout: 120_000 });
    const uncleared = Number(/([\d.]+) % left dark/.exec((await card.textContent()) ?? '')?.[1]);
    expect(uncleared).toBeLessThan(5);
    await findings()
      .getByText(/^It (will likely|will|comes|may) (come )?out/)
      .waitFor({ timeout: 120_000 });

    // One step of undo takes it back.
    await page.getByRole('button', { name: 'Undo' }).click();
    await nowCard().getByText('67 / 8 %').waitFor();
    expect(tools.faults).toEqual([]);
  }, 400_000);
});
