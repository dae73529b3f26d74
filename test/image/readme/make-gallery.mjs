// Makes the README's gallery of four slabs from one photograph, as the built page shows them: npm run build, then
// node test/image/readme/make-gallery.mjs. A Chromium on the path, or the one named in FOREBURN_CHROMIUM, is used.
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { strFromU8, strToU8, unzipSync, zipSync } from 'fflate';
import { chromium } from 'playwright-core';
import sharp from 'sharp';
import { preview } from 'vite';

const folder = mkdtempSync(join(tmpdir(), 'foreburn-gallery-'));
const demo = join(folder, 'demo.foreburn');
execFileSync('node', ['dist/cli/main.js', 'demo', '--width-px', '1800', '--out', demo]);
const entries = unzipSync(readFileSync(demo));
const piece = JSON.parse(strFromU8(entries['piece.json']));

const sprayed = (fan, more = {}) => ({
  kind: 'sprayed',
  fan,
  fanWidthMm: 60,
  overlap: 0.5,
  headingRad: 0,
  wobbleMm: 1,
  speedVariation: 0.02,
  ends: 'outside',
  ...more,
});
const coats = (application, more = {}) =>
  piece.stack.coats.map((coat, i) => ({
    ...coat,
    application,
    slowVariation: 0.02,
    fineVariation: 0.02,
    sandedAfter: i === 1,
    ...more,
  }));
const knot = { xMm: -34, yMm: -8, diameterMm: 34, tiltRad: 0.5, filled: false };
const [pass] = piece.passes;
const slab = { ...piece.slab, maskedRimMm: 7 };
const variants = {
  even: {
    slab,
    stack: { ...piece.stack, film: { ...piece.stack.film, shown: 'drawn' }, coats: coats(sprayed('triangular')) },
  },
  unsanded: {
    slab: { ...slab, cut: 'plank', finish: 'as-sawn' },
    stack: {
      ...piece.stack,
      film: { ...piece.stack.film, shown: 'drawn' },
      coats: coats(sprayed('triangular'), { sandedAfter: false }),
    },
  },
  banded: {
    slab,
    stack: {
      ...piece.stack,
      film: { ...piece.stack.film, shown: 'drawn' },
      coats: coats(sprayed('parabolic'), { layers: 1 }),
    },
  },
  bare: {
    slab: { ...slab, cut: 'plank', knots: [knot], maskedRimMm: 0 },
    stack: { ...piece.stack, coats: [] },
    passes: [{ ...pass, lightEndPower: 0.05, darkEndPower: 0.6 }],
    picture: { ...piece.picture, tone: { ...piece.picture.tone, exposureEv: -0.6, contrast: 0.4 } },
  },
};

const server = await preview({ preview: { port: 0, host: '127.0.0.1', open: false }, logLevel: 'error' });
const browser = await chromium.launch({
  executablePath: process.env.FOREBURN_CHROMIUM ?? '/usr/bin/chromium',
  args: ['--no-sandbox', '--use-angle=swiftshader', '--enable-unsafe-swiftshader', '--ignore-gpu-blocklist'],
});
const page = await browser.newPage({ viewport: { width: 1440, height: 900 }, bypassCSP: true });
await page.goto(`http://127.0.0.1:${server.httpServer.address().port}/#demo`);
// Only the slabs are shown.
await page.addStyleTag({ content: '.verdict-line { display: none; }' });
const shots = [];
for (const [name, change] of Object.entries(variants)) {
  const file = join(folder, `${name}.foreburn`);
  writeFileSync(file, zipSync({ ...entries, 'piece.json': strToU8(JSON.stringify({ ...piece, ...change, name })) }));
  await page.locator('input[type=file]').first().setInputFiles(file);
  await page
    .getByRole('textbox', { name: 'Name of the piece' })
    .and(page.locator(`[value="${name}"]`))
    .waitFor();
  await page.waitForTimeout(1500);
  if (name === 'bare') {
    // Bare wood has other tones than paint.
    await page.locator('.step-button', { hasText: 'Picture' }).click();
    await page.getByRole('button', { name: 'Fit tones to this stack' }).click();
    await page.getByText(/This stack shows/).waitFor({ timeout: 60_000 });
    await page.waitForTimeout(1500);
  }
  await page
    .getByRole('region', { name: 'Proofs' })
    .getByRole('button', { name: /^Now/ })
    .getByText(/rows ·/)
    .waitFor({ timeout: 120_000 });
  await page.waitForTimeout(6000);
  const stage = await page.locator('.slab-view').boundingBox();
  const column = await page.locator('.column').boundingBox();
  const strip = await page.getByRole('region', { name: 'Proofs' }).boundingBox();
  const left = column.x > 200 ? stage.x : column.x + column.width;
  const right = column.x > 200 ? column.x : stage.x + stage.width;
  const clip = { x: left + 20, y: stage.y + 64, width: right - left - 40, height: strip.y - stage.y - 74 };
  shots.push(await page.screenshot({ clip }));
}
await browser.close();
await server.close();
rmSync(folder, { recursive: true });

const width = 700;
const tiles = await Promise.all(shots.map((shot) => sharp(shot).resize({ width }).toBuffer()));
const { height } = await sharp(tiles[0]).metadata();
const gap = 8;
await sharp({ create: { width: 2 * width + gap, height: 2 * height + gap, channels: 3, background: '#f4f1ed' } })
  .composite(
    tiles.map((input, i) => ({ input, left: (i % 2) * (width + gap), top: Math.floor(i / 2) * (height + gap) })),
  )
  .png({ palette: true, quality: 90 })
  .toFile('test/image/readme/gallery.png');
