// How quick the built page answers: npm run build, then node test/bench/page.mjs [--record NAME]
// Prints the time from a change of power to its quick look on the page, and the page's tasks of more than 50 ms meanwhile.
import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { availableParallelism } from 'node:os';
import { chromium } from 'playwright-core';
import { preview } from 'vite';

const CHANGES = ['70', '72', '74', '71', '73', '75', '69', '76'];
const server = await preview({ preview: { port: 0, host: '127.0.0.1', open: false }, logLevel: 'error' });
const browser = await chromium.launch({
  executablePath: process.env.FOREBURN_CHROMIUM ?? '/usr/bin/chromium',
  args: ['--no-sandbox', '--use-angle=swiftshader', '--enable-unsafe-swiftshader', '--ignore-gpu-blocklist'],
});
const page = await browser.newPage({ viewport: { width: 1440, height: 900 } });
await page.addInitScript(() => {
  window.longTasks = [];
  new PerformanceObserver((list) => {
    for (const { startTime, duration } of list.getEntries()) window.longTasks.push({ startTime, duration });
  }).observe({ type: 'longtask', buffered: true });
});
const start = Date.now();
await page.goto(`http://127.0.0.1:${server.httpServer.address().port}/`);
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
const longTasksMs = await page.evaluate(
  (after) => window.longTasks.filter((task) => task.startTime > after).map((task) => Math.round(task.duration)),
  from,
);
const sorted = [...coarseMs].sort((a, b) => a - b);
const result = {
  date: new Date().toISOString().slice(0, 10),
  machine: { cores: availableParallelism(), graphics: 'in software (SwiftShader)' },
  job: 'demo piece, 2760 × 2160 cells, power changed every 1.2 s while full proofs run',
  openToProofMs,
  coarseMs,
  coarseMedianMs: sorted[sorted.length >> 1],
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
