import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { validateBytes } from 'gltf-validator';
import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, test, vi } from 'vitest';
import { createPiece } from '../../src/piece/defaults.ts';
import { encodePieceFile } from '../../src/piece/file.ts';
import { runCli, temporaryFolder } from '../helpers/command-line.ts';

vi.setConfig({ testTimeout: 120_000 });

let folder: Awaited<ReturnType<typeof temporaryFolder>>;
let piece = '';
beforeAll(async () => {
  folder = await temporaryFolder();
  const photo = await sharp({ create: { width: 40, height: 30, channels: 3, background: '#eeeeee' } })
    .jpeg()
    .toBuffer();
  const made = createPiece('Hollin Reach', 'p.jpg');
  const small = {
    ...made,
    slab: { ...made.slab, widthMm: 30, heightMm: 24, knots: [], checks: [] },
    picture: { ...made.picture, widthMm: 16 },
  };
  piece = folder.file('small.foreburn');
  writeFileSync(piece, encodePieceFile({ piece: small, images: new Map([['p.jpg', new Uint8Array(photo)]]) }));
  // No browser: stills are then drawn plainly.
  vi.stubEnv('FOREBURN_CHROMIUM', '');
});
afterAll(async () => {
  vi.unstubAllEnvs();
  await folder.remove();
});

const mockup = (out: string, ...more: string[]) =>
  runCli(['mockup', '--piece', piece, '--out', folder.file(out), ...more]);

describe('mockup', () => {
  test('draws a plain lit still where there is no browser, and says so', async () => {
    const { code, out } = await mockup('a.png', '--width-px', '300', '--json');
    expect(code).toBe(0);
    const report = JSON.parse(out);
    expect(report.drawnBy).toContain('plain lit picture');
    expect(report.sha256).toMatch(/^[0-9a-f]{64}$/);
    expect(await sharp(folder.file('a.png')).metadata()).toMatchObject({ format: 'png', width: 300 });
  });

  test('writes a model that the validator accepts, and a package', async () => {
    expect((await mockup('a.glb')).code).toBe(0);
    const report = await validateBytes(new Uint8Array(readFileSync(folder.file('a.glb'))));
    expect([report.issues.numErrors, report.issues.numWarnings]).toEqual([0, 0]);
    expect((await mockup('a.usdz')).code).toBe(0);
    expect(readFileSync(folder.file('a.usdz')).subarray(0, 4).toString('latin1')).toBe('PK\u0003\u0004');
  });

  test('writes the client’s file with its program in it', async () => {
    const { code, out } = await mockup('a.html', '--setting', 'cup');
    expect(code).toBe(0);
    expect(out).toContain('Wood and paint vary');
    const html = readFileSync(folder.file('a.html'), 'utf8');
    expect(html).toContain('"setting":"cup"');
    expect(html).toContain('webgl2');
    expect(html).toContain('If it comes out lighter');
  });

  test('refuses what it cannot do before it burns anything', async () => {
    for (const [argv, word] of [
      [['--out', folder.file('a.gif')], '.usdz'],
      [[], '--out'],
      [['--out', folder.file('a.png'), '--setting', 'moon'], 'shelf'],
      [['--out', folder.file('a.png'), '--width-px', '9000'], '4000'],
    ] as const) {
      const { code, error } = await runCli(['mockup', '--piece', piece, ...argv]);
      expect(code).toBe(2);
      expect(error).toContain(word);
    }
    expect(existsSync(folder.file('a.gif'))).toBe(false);
  });

  test('leaves no half file where it may not write', async () => {
    const { code, error } = await mockup('none/a.glb');
    expect(code).toBe(1);
    expect(error).toContain('there is no such folder');
  });
});
