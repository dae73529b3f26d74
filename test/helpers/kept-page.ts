import { readFileSync } from 'node:fs';
import type { Download, Locator, Page } from 'playwright-core';

/** What tests of the page's memory do with it, as a maker would. */
export const nameOf = (page: Page): Locator => page.getByRole('textbox', { name: 'Name of the piece' });
export const noticeOf = (page: Page): Locator => page.getByRole('status', { name: 'Notice' });

export async function openPage(page: Page, url: string): Promise<void> {
  await page.goto(url);
  await nameOf(page).waitFor({ timeout: 60_000 });
}

/** Files are given to the input behind the button: no dialog to wait for. */
export async function chooseFile(page: Page, button: string, name: string, bytes: Uint8Array): Promise<void> {
  const [chooser] = await Promise.all([
    page.waitForEvent('filechooser'),
    page.getByRole('button', { name: button }).click(),
  ]);
  await chooser.setFiles({ name, mimeType: 'application/octet-stream', buffer: Buffer.from(bytes) });
}

export async function openPieceFile(page: Page, name: string, bytes: Uint8Array): Promise<void> {
  await chooseFile(page, 'Open piece…', `${name}.foreburn`, bytes);
  await nameOf(page)
    .and(page.locator(`[value="${name}"]`))
    .waitFor({ timeout: 30_000 });
}

/** From the page of a step that is shown back to what it was opened from. */
export const goBack = (page: Page): Promise<void> => page.locator('.more-page .page-back').last().click();

/** Opens the step unless it is open. */
export async function openStep(page: Page, name: string): Promise<void> {
  const step = page.getByRole('button', { name: new RegExp(`^${name}`) }).first();
  if ((await step.getAttribute('aria-expanded')) !== 'true') await step.click();
}

/** Another photograph on the piece; its tones stay. On the demo it begins a piece of its own, and the page goes on to all settings. */
export async function openPhoto(page: Page, name: string, bytes: Uint8Array): Promise<void> {
  const keep = page.getByRole('button', { name: 'Keep the tones' });
  const settings = page.getByRole('button', { name: 'All settings' });
  const settled = page.getByText(name);
  if (!(await settings.isVisible())) await openStep(page, 'Picture');
  await chooseFile(page, 'Open a photograph…', name, bytes);
  await keep.or(settings).or(settled).first().waitFor({ timeout: 60_000 });
  if (await keep.isVisible()) await keep.click();
  if (await settings.isVisible()) await settings.click();
}

export async function lookAtDemo(page: Page): Promise<void> {
  await page.getByRole('button', { name: 'Pieces…' }).click();
  await page.getByRole('button', { name: 'Look at the demo' }).click();
}

/** Does with a piece of the board what its menu offers. */
export async function doWithPiece(page: Page, title: string, what: string): Promise<void> {
  await page.getByRole('button', { name: `What to do with ${title}`, exact: true }).click();
  await page.getByRole('menuitem', { name: what }).click();
}

export const readDownload = async (download: Download): Promise<Uint8Array> =>
  new Uint8Array(readFileSync(await download.path()));
