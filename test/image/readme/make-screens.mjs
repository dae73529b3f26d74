// Makes the README's picture of screens from the built command line: npm run build:cli, then node test/image/readme/make-screens.mjs
import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import sharp from 'sharp';

const SCREENS = ['stucki', 'model-diffusion', 'direct-search'];
/** A part of the proof, a pixel a dot, and how many pixels of the picture each becomes. */
const PART = { left: 560, top: 330, width: 200, height: 150 };
const ENLARGED = 2;

const folder = mkdtempSync(join(tmpdir(), 'foreburn-screens-'));
try {
  const parts = SCREENS.map((screen) => {
    const out = join(folder, screen);
    const piece = ['--piece', 'public/demo/hollin-reach.foreburn', '--width-mm', '120'];
    const command = ['dist/cli/main.js', 'proof', ...piece, '--screen', screen, '--tries', '0', '--out', out];
    const { status, stderr } = spawnSync(process.execPath, command, { encoding: 'utf8' });
    if (status !== 0) throw new Error(stderr);
    return join(out, 'proof.png');
  });
  const width = PART.width * ENLARGED;
  const height = PART.height * ENLARGED;
  const tiles = await Promise.all(
    parts.map((file) => sharp(file).extract(PART).resize(width, height, { kernel: 'nearest' }).png().toBuffer()),
  );
  const gap = 6;
  const canvas = { width: SCREENS.length * (width + gap) - gap, height, channels: 3, background: '#ffffff' };
  await sharp({ create: canvas })
    .composite(tiles.map((input, i) => ({ input, left: i * (width + gap), top: 0 })))
    .png({ palette: true, quality: 90 })
    .toFile('test/image/readme/screens.png');
} finally {
  rmSync(folder, { recursive: true, force: true });
}
