import { createHash } from 'node:crypto';
import { mkdir, readdir, readFile, writeFile } from 'node:fs/promises';
import { decode } from 'fast-png';
import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { createPiece } from '../../src/core/piece/defaults.ts';
import { runCli, temporaryFolder } from '../helpers/command-line.ts';
import { readProgram } from '../helpers/gcode-reader.ts';

let folder: Awaited<ReturnType<typeof temporaryFolder>>;
let photo = '';
let pieceFile = '';
beforeAll(async () => {
  folder = await temporaryFolder();
  photo = folder.file('ramp.png');
  const data = Uint8Array.from({ length: 90 * 60 }, (_, i) => Math.round((255 * (i % 90)) / 89));
  await sharp(data, { raw: { width: 90, height: 60, channels: 1 } })
    .png()
    .toFile(photo);
  const piece = createPiece('Ramp', 'ramp.png');
  pieceFile = folder.file('piece.json');
  await writeFile(
    pieceFile,
    JSON.stringify({
      ...piece,
      picture: { ...piece.picture, widthMm: 30 },
      placement: { ...piece.placement, referenceMark: true },
      passes: [piece.passes[0], { ...piece.passes[0], lightEndPower: 0.3, darkEndPower: 0 }],
    }),
  );
});
afterAll(() => folder.remove());

describe('job', () => {
  test('writes every file of a piece of two passes, with sizes, times and hashes', async () => {
    const out = folder.file('all');
    const ran = await runCli(['job', photo, '--piece', pieceFile, '--out', out, '--json']);
    expect(ran).toMatchObject({ code: 0, error: '' });
    const { files, cautions } = JSON.parse(ran.out);
    expect((await readdir(out)).sort()).toEqual([
      'ramp-drawing.svg',
      'ramp-mark.gcode',
      'ramp-pass-1.gcode',
      'ramp-pass-1.png',
      'ramp-pass-2.gcode',
      'ramp-pass-2.png',
      'ramp-walk-mark.gcode',
      'ramp-walk-picture.gcode',
      'ramp-walk-slab.gcode',
    ]);
    expect(cautions).toEqual([]);
    for (const { path, bytes, sha256 } of files) {
      const content = await readFile(path);
      expect(content.length).toBe(bytes);
      expect(createHash('sha256').update(content).digest('hex')).toBe(sha256);
      if (path.endsWith('.gcode')) readProgram(content.toString('ascii'));
    }
    const [first, second] = files;
    expect(first.timeS).toBeGreaterThan(second.timeS / 2);
    // Both passes end at the picture's centre, so that the second lands on the first.
    for (const { path } of [first, second]) expect(readProgram(await readFile(path, 'ascii')).end).toEqual([200, 200]);
    expect(decode(await readFile(folder.file('all/ramp-pass-1.png')))).toMatchObject({
      width: 300,
      height: 200,
      depth: 8,
    });
  });

  test('settings on the command line go before the piece’s', async () => {
    const out = folder.file('set');
    const options = [
      '--power-scale',
      '255',
      '--beam',
      'holds-power',
      '--units',
      'inch',
      '--park',
      'stay',
      '--light-end',
      '60',
    ];
    const ran = await runCli(['job', photo, '--piece', pieceFile, '--only', 'job', '--out', out, ...options]);
    expect(ran.error).toBe('');
    expect(ran.out).toMatch(/ramp-pass-1\.gcode: \d+ kB, 1 min/);
    const text = await readFile(folder.file('set/ramp-pass-1.gcode'), 'ascii');
    expect(text).toContain('G20 G90 G94');
    const { motions } = readProgram(text);
    expect(Math.max(...motions.map(({ s }) => s))).toBe(153);
    expect(motions.find(({ s }) => s > 0)?.beam).toBe('M3');
  });

  test('what the machine cannot do is refused with the way out, and nothing is written', async () => {
    const out = folder.file('refused');
    const ran = await runCli([
      'job',
      photo,
      '--piece',
      pieceFile,
      '--out',
      out,
      '--feed',
      '20000',
      '--power-scale',
      '0',
    ]);
    expect(ran.code).toBe(1);
    expect(ran.error).toContain('The power scale is 0');
    expect(ran.error).toContain('goes 12000 mm/min at most');
    await expect(readdir(out)).rejects.toThrow('ENOENT');
    expect((await runCli(['job', photo, '--only', 'jobs'])).error).toContain(
      '--only: must be one of job, walk, mark, picture or drawing',
    );
    expect((await runCli(['job', photo, '--beam', 'on'])).code).toBe(2);
  });

  test('a file that cannot be written is told, and no half one is left', async () => {
    const out = folder.file('blocked');
    await mkdir(folder.file('blocked/ramp-walk-slab.gcode'), { recursive: true });
    const ran = await runCli(['job', photo, '--piece', pieceFile, '--only', 'walk', '--out', out]);
    expect(ran.code).toBe(1);
    expect(ran.error).toContain('ramp-walk-slab.gcode could not be written: a folder has that name');
    expect(await readdir(out)).toEqual(['ramp-walk-slab.gcode']);
    await writeFile(folder.file('plain'), '');
    expect((await runCli(['job', photo, '--out', folder.file('plain/below')])).error).toContain(
      'part of its path is a file',
    );
  });
});
