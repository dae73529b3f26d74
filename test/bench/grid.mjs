// How soon a grid of 5 × 5 crops of 300 × 300 dots is burned on the built page: npm run build, then node test/bench/grid.mjs [--record NAME]
import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { availableParallelism, loadavg } from 'node:os';
import { chromium } from 'playwright-core';
import { preview } from 'vite';

const folder = process.argv.indexOf('--page');
const outDir = folder > 0 ? process.argv[folder + 1] : 'dist/page';
const server = await preview({
  build: { outDir },
  preview: { port: 0, host: '127.0.0.1', open: false },
  logLevel: 'error',
});
const browser = await chromium.launch({
  executablePath: process.env.FOREBURN_CHROMIUM ?? '/usr/bin/chromium',
  args: ['--no-sandbox', '--use-angle=swiftshader', '--enable-unsafe-swiftshader', '--ignore-gpu-blocklist'],
});
const page = await browser.newPage({ viewport: { width: 1440, height: 900 } });
await page.goto(`http://127.0.0.1:${server.httpServer.address().port}/#demo`);
await page
  .getByRole('button', { name: /^Now/ })
  .getByText(/rows ·/)
  .waitFor({ timeout: 300_000 });
await page.waitForTimeout(10_000);
await page.getByRole('button', { name: 'Grid…' }).click();
await page.getByRole('application', { name: /^Crop at/ }).waitFor();

/** Burns the grid that is set, three times, and reads the seconds off the page. */
async function burn() {
  const seconds = [];
  for (let i = 0; i < 3; i++) {
    await page.getByRole('button', { name: /^Compute the grid/ }).click();
    await page.getByRole('button', { name: 'Stop', exact: true }).waitFor();
    await page.getByText(/Took [\d.]+ s/).waitFor({ timeout: 300_000 });
    seconds.push(Number(/Took ([\d.]+) s/.exec(await page.getByText(/Took/).textContent())[1]));
  }
  return seconds;
}

async function set(side, label) {
  await page.getByRole('button', { name: new RegExp(side) }).click();
  await page.getByRole('option', { name: new RegExp(`^${label}`) }).click();
}

const gridSeconds = { 'light-end power × feed': await burn() };
await set('Down', 'Dark-end power');
gridSeconds['light-end power × dark-end power'] = await burn();
await set('Down', 'Top coat');
gridSeconds['light-end power × top coat'] = await burn();
await set('Down', 'Screen');
gridSeconds['light-end power × screen'] = await burn();
await set('Down', 'Row pitch');
gridSeconds['light-end power × row pitch'] = await burn();
const result = {
  date: new Date().toISOString().slice(0, 10),
  machine: { cores: availableParallelism(), load: loadavg()[0] },
  job: 'demo piece, 5 × 5 crops of 300 × 300 dots, seconds',
  gridSeconds,
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
