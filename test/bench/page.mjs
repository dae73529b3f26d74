// How quick the built page answers: npm run build, then node test/bench/page.mjs [--card] [--record NAME]
// Prints the time from a change of power to its quick look and to its full proof on the page, for those that were not overtaken, who burned
// it, and the page's tasks of more than 50 ms meanwhile. --card: with the graphics card of the machine, by Vulkan, not in software.
import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { availableParallelism } from 'node:os';
import { chromium } from 'playwright-core';
import { preview } from 'vite';

const CHANGES = ['70', '72', '74', '71', '73', '75', '69', '76'];
const SOFTWARE = ['--use-angle=swiftshader', '--enable-unsafe-swiftshader'];
const CARD = ['--use-gl=angle', '--use-angle=vulkan', '--enable-features=Vulkan,DefaultANGLEVulkan,VulkanFromANGLE'];
const onCard = process.argv.includes('--card');
const server = await preview({ preview: { port: 0, host: '127.0.0.1', open: false }, logLevel: 'error' });
const browser = await chromium.launch({
  executablePath: process.env.FOREBURN_CHROMIUM ?? '/usr/bin/chromium',
  args: ['--no-sandbox', '--ignore-gpu-blocklist', ...(onCard ? CARD : SOFTWARE)],
});
const page = await browser.newPage({ viewport: { width: 1440, height: 900 } });
await page.addInitScript(() => {
  window.longTasks = [];
  new PerformanceObserver((list) => {
    for (const { startTime, duration } of list.getEntries()) window.longTasks.push({ startTime, duration });
  }).observe({ type: 'longtask', buffered: true });
});
const start = Date.now();
await page.goto(`http://127.0.0.1:${server.httpServer.address().port}/#demo`);
const proofDone = () =>
  page
    .getByRole('button', { name: /^Now/ })
    .getByText(/rows ·/)
    .waitFor({ timeout: 90_000 });
await proofDone();
const openToProofMs = Date.now() - start;
await page.waitForTimeout(4000);
const from = await page.evaluate(() => performance.now());
const field = page.getByRole('textbox', { name: 'Light-end power' }).first();
for (const percent of CHANGES) {
  await field.fill(percent);
  await field.press('Enter');
  await page.waitForTimeout(1200);
}
await proofDone();
await page.waitForTimeout(3000);
const coarseMs = await page.evaluate((after) => {
  const measures = performance.getEntriesByName('foreburn-coarse').filter(({ startTime }) => startTime > after);
  return measures.map(({ duration }) => Math.round(duration));
}, from);
const proofMs = await page.evaluate((after) => {
  const measures = performance.getEntriesByName('foreburn-proof').filter(({ startTime }) => startTime > after);
  return measures.map(({ duration }) => Math.round(duration));
}, from);
await page
  .getByRole('button', { name: /^Proof/ })
  .first()
  .click();
const burned = await page.locator('.small-print', { hasText: 'Burned' }).first().textContent();
const longTasksMs = await page.evaluate(
  (after) => window.longTasks.filter((task) => task.startTime > after).map((task) => Math.round(task.duration)),
  from,
);
const sorted = [...coarseMs].sort((a, b) => a - b);
const result = {
  date: new Date().toISOString().slice(0, 10),
  machine: { cores: availableParallelism(), graphics: onCard ? 'its card' : 'in software (SwiftShader)' },
  job: 'demo piece, 2760 × 2160 cells, power changed every 1.2 s while full proofs run',
  openToProofMs,
  coarseMs,
  coarseMedianMs: sorted[sorted.length >> 1],
  proofMs,
  burned,
  longTasksMs,
};
console.log(JSON.stringify(result, null, 2));
const record = process.argv.indexOf('--record');
if (record > 0) {
  const file = `test/bench/results/${process.argv[record + 1]}.json`;
  const history = existsSync(file) ? JSON.parse(readFileSync(file, 'utf8')) : [];
  writeFileSync(file, `${JSON.stringify([...history, result], null, 2)}\n`);
}
await browser.close();
await server.close();
