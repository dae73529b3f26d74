// How long a still of 4000 × 3000 pixels takes on the built page, and how often the burn is drawn while it is scrubbed:
// npm run build, then node test/bench/mockup.mjs [--record NAME]
import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { availableParallelism } from 'node:os';
import { chromium } from 'playwright-core';
import { preview } from 'vite';

const SCRUB_MS = 6000;
const server = await preview({ preview: { port: 0, host: '127.0.0.1', open: false }, logLevel: 'error' });
const browser = await chromium.launch({
  executablePath: process.env.FOREBURN_CHROMIUM ?? '/usr/bin/chromium',
  args: ['--no-sandbox', '--use-angle=swiftshader', '--enable-unsafe-swiftshader', '--ignore-gpu-blocklist'],
});
const context = await browser.newContext({ viewport: { width: 1440, height: 900 }, acceptDownloads: true });
const page = await context.newPage();
page.setDefaultTimeout(300_000);
await page.goto(`http://127.0.0.1:${server.httpServer.address().port}/#demo`);
await page
  .getByRole('button', { name: /^Now/ })
  .getByText(/rows ·/)
  .waitFor();
await page.getByRole('button', { name: /^Hand over/ }).click();
await page.getByRole('button', { name: /^For the client/ }).click();
await page.getByRole('button', { name: 'Open the mock-up' }).click();
await page.locator('.mockup-view canvas[data-drawn="finished"]').waitFor();
const save = async (button) => {
  const start = Date.now();
  const [file] = await Promise.all([
    page.waitForEvent('download'),
    page.getByRole('button', { name: button, exact: true }).click(),
  ]);
  const ms = Date.now() - start;
  return { ms, bytes: readFileSync(await file.path()).length };
};
const still = await save('Save a still (JPEG)');
const clientFile = await save('Save a file for the client');
await page.getByRole('button', { name: 'Close', exact: true }).click();

await page.getByRole('button', { name: /^Watch it burn/ }).click();
await page.getByRole('button', { name: 'Open the burn' }).click();
const canvas = page.locator('.burn-view canvas[data-drawn="finished"]');
await canvas.waitFor();
const frames = async () => Number(await page.locator('.burn-view canvas').getAttribute('data-frames'));
const before = await frames();
await page.getByRole('button', { name: 'Play' }).click();
await page.waitForTimeout(SCRUB_MS);
const scrubFps = ((await frames()) - before) / (SCRUB_MS / 1000);
const result = {
  date: new Date().toISOString().slice(0, 10),
  cores: availableParallelism(),
  stillMs: still.ms,
  stillBytes: still.bytes,
  clientFileBytes: clientFile.bytes,
  scrubFps: Math.round(10 * scrubFps) / 10,
};
console.log(JSON.stringify(result, null, 2));
const recordAt = process.argv.indexOf('--record');
if (recordAt > 0) {
  const file = `test/bench/results/${process.argv[recordAt + 1]}-mockup.json`;
  const earlier = existsSync(file) ? JSON.parse(readFileSync(file, 'utf8')) : [];
  writeFileSync(file, `${JSON.stringify([...earlier, result], null, 2)}\n`);
}
await browser.close();
await server.close();
