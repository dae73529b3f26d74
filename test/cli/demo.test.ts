import { mkdtemp, readFile, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import sharp from 'sharp';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { run } from '../../src/cli/run.ts';
import { decodePieceFile } from '../../src/piece/file.ts';

let folder = '';
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'foreburn-demo-'));
});
afterAll(() => rm(folder, { recursive: true, force: true }));

async function call(argv: string[]): Promise<{ code: number; out: string; error: string }> {
  let out = '';
  let error = '';
  const code = await run(['demo', ...argv], {
    out: (text) => {
      out += text;
    },
    error: (text) => {
      error += text;
    },
    terminal: false,
    now: () => 0,
    today: () => 0,
  });
  return { code, out, error };
}

test.each([
  ['small.png', 'png'],
  ['small.jpg', 'jpeg'],
])('writes %s: one grey channel, the size asked for', async (name, format) => {
  const file = join(folder, name);
  const { code, out, error } = await call(['--width-px', '64', '--out', file]);
  expect([code, error]).toEqual([0, '']);
  expect(out).toContain('64 × 50');
  const found = await sharp(file).metadata();
  expect([found.format, found.width, found.height, found.channels]).toEqual([format, 64, 50, 1]);
  const { channels } = await sharp(file).stats();
  expect(channels[0].min).toBeLessThan(60);
  expect(channels[0].max).toBeGreaterThan(200);
});

test('writes a piece with the photograph inside', async () => {
  const file = join(folder, 'small.foreburn');
  expect((await call(['--width-px=64', '--out', file])).code).toBe(0);
  const { piece, images } = decodePieceFile(await readFile(file));
  const photo = images.get(piece.picture.file);
  expect(piece.name).toBe('Hollin Reach');
  expect((await sharp(photo).metadata()).width).toBe(64);
});

test.each([
  [['--width-px', '63'], '--width-px'],
  [['--width-px', '8001'], '--width-px'],
  [['--width-px', '100.5'], '--width-px'],
  [['--width-px', 'wide'], '--width-px'],
  [['--out', 'reach.tif'], '--out'],
  [['--out', 'reach'], '--out'],
  [['--nonsense'], '--nonsense'],
  [['photo.png'], 'photo.png'],
])('%j is a wrong call', async (argv, named) => {
  const { code, error } = await call(argv);
  expect(code).toBe(2);
  expect(error).toContain(named);
});

test('a file that cannot be written is named', async () => {
  const file = join(folder, 'missing', 'small.png');
  const { code, error } = await call(['--width-px', '64', '--out', file]);
  expect(code).toBe(1);
  expect(error).toContain(file);
});
