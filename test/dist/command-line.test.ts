import { spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { run } from '../../src/cli/run.ts';

const MAIN = resolve('dist/cli/main.js');
let folder: string;
let photo: string;

beforeAll(async () => {
  if (!existsSync(MAIN)) throw new Error('dist/cli is missing: run "npm run build" first');
  folder = mkdtempSync(join(tmpdir(), 'foreburn-dist-'));
  photo = join(folder, 'photo.png');
  const pixels = Uint8Array.from({ length: 90 * 70 }, (_, i) => ((i % 90) * 255) / 89);
  await sharp(pixels, { raw: { width: 90, height: 70, channels: 1 } })
    .png()
    .toFile(photo);
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const built = (...args: string[]) => spawnSync(process.execPath, [MAIN, ...args], { encoding: 'utf8' });

describe('the built command line', () => {
  test('gives the same files as the sources, in its pool of workers', async () => {
    const options = ['--width-mm', '40', '--light-end', '60', '--pass', 'light=30,dark=0', '--fields', '--tries', '0'];
    const fromDist = join(folder, 'dist');
    const result = built('proof', photo, '--out', fromDist, ...options);
    expect(result.stderr).toBe('');
    expect(result.status).toBe(0);
    const fromSource = join(folder, 'source');
    const io = { out: () => {}, error: () => {}, terminal: false, now: () => 0, today: () => 0 };
    expect(await run(['proof', photo, '--out', fromSource, ...options], io)).toBe(0);
    for (const name of [
      'proof.png',
      'uncleared.png',
      'residue-0-um.npy',
      'residue-1-um.npy',
      'wood-depth-um.npy',
      'tone.npy',
      'power.npy',
      'power-2.npy',
    ]) {
      expect(readFileSync(join(fromDist, name)).equals(readFileSync(join(fromSource, name))), name).toBe(true);
    }
    const report = JSON.parse(readFileSync(join(fromDist, 'report.json'), 'utf8'));
    expect(report.backend).toMatch(/^cpu: \d+ worker threads/);
  });

  test('says nothing on the error stream of a pipe, and ends with the documented codes', () => {
    expect(built('screens').status).toBe(0);
    expect(built('--help').stdout).toContain('proof');
    expect(built('proof').status).toBe(2);
    const missing = built('proof', join(folder, 'nowhere.jpg'));
    expect(missing.status).toBe(1);
    expect(missing.stderr).toContain('nowhere.jpg');
  });
});
