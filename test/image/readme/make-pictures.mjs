// Makes the README's pictures from the built page: npm run build, then node test/image/readme/make-pictures.mjs
// A Chromium on the path, or the one named in FOREBURN_CHROMIUM, is used.
import { chromium } from 'playwright-core';
import sharp from 'sharp';
import { preview } from 'vite';

const server = await preview({ preview: { port: 0, host: '127.0.0.1', open: false }, logLevel: 'error' });
const browser = await chromium.launch({
  executablePath: process.env.FOREBURN_CHROMIUM ?? '/usr/bin/chromium',
  args: ['--no-sandbox', '--use-angle=swiftshader', '--enable-unsafe-swiftshader', '--ignore-gpu-blocklist'],
});
const page = await browser.newPage({ viewport: { width: 1440, height: 900 } });
const nowCard = () => page.getByRole('region', { name: 'Proofs' }).getByRole('button', { name: /^Now/ });
const proofDone = async () => {
  await nowCard()
    .getByText(/rows ·/)
    .waitFor({ timeout: 90_000 });
  await page.waitForTimeout(4000);
};
const lightEnd = async (percent) => {
  const field = page.getByRole('textbox', { name: 'Light-end power' }).first();
  await field.fill(percent);
  await field.press('Enter');
  await page.waitForTimeout(500);
  await proofDone();
};
const shoot = async (name) => {
  const png = await page.screenshot();
  await sharp(png).resize(1200).png({ palette: true, quality: 90 }).toFile(`test/image/readme/${name}.png`);
};
const lamp = () => page.getByRole('slider', { name: /lamp/i }).first();
const press = async (key, times) => {
  for (let i = 0; i < times; i++) await page.keyboard.press(key);
};

await page.goto(`http://127.0.0.1:${server.httpServer.address().port}/#demo`);
await proofDone();
await page.locator('.verdict-line:not(.verdict-waiting)').waitFor({ timeout: 120_000 });
await shoot('table');

const step = (name) => page.locator('.step-button', { hasText: name }).first();
await lightEnd('76');
await step('Proof').click();
const show = page.getByRole('button', { name: 'Show it' }).first();
await show.waitFor({ timeout: 120_000 });
await show.click();
await page.waitForTimeout(3500);
await shoot('findings');
await page.getByRole('button', { name: 'Whole slab' }).click();
await step('Passes').click();
await lightEnd('88');

await page.getByRole('button', { name: 'Pin', exact: true }).click();
await lightEnd('75');
await page.getByRole('button', { name: /^Proof 1/ }).click();
await nowCard().click();
await page.waitForTimeout(3000);
await shoot('wipe');

await page.getByRole('button', { name: /^Proof 1/ }).click();
await nowCard().click();
await lightEnd('92');
await lamp().focus();
await press('Shift+ArrowDown', 3);
await page.getByRole('application').focus();
await press('+', 14);
await page.waitForTimeout(3500);
await shoot('dots');

await page.getByRole('button', { name: 'Whole slab' }).click();
await lightEnd('88');
await step('Hand over').click();
await page.getByRole('button', { name: /^For the client/ }).click();
await page.getByRole('button', { name: 'Open the mock-up' }).click();
await page.locator('.mockup-view canvas[data-drawn="finished"]').waitFor({ timeout: 90_000 });
await page.waitForTimeout(1000);
await shoot('mockup');

await browser.close();
await server.close();
