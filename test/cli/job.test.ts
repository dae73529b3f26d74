import { createHash } from 'node:crypto';
import { mkdir, readdir, readFile, writeFile } from 'node:fs/promises';
import { decode } from 'fast-png';
import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { createPiece } from '../../src/piece/defaults.ts';
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
  test('sends power that follows heat and lag, within the light end, and reads it back', async () => {
    const out = folder.file('even');
    const ran = await runCli(['job', photo, '--piece', pieceFile, '--even-power', '--out', out]);
    expect(ran).toMatchObject({ code: 0, error: '' });
    const powersOf = async (file: string) => {
      const words = (await readFile(`${out}/${file}`, 'ascii')).match(/S\d+/g)!.map((word) => Number(word.slice(1)));
      return [...new Set(words)].sort((a, b) => a - b);
    };
    const powers = await powersOf('ramp-pass-1.gcode');
    expect(powers.length).toBeGreaterThan(4);
    expect(powers.at(-1)).toBeLessThanOrEqual(850);
  });

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
    const ran = await runCli(['job', photo, '--piece', pieceFile, '--out', out, '--feed', '20000']);
    expect(ran.code).toBe(1);
    expect(ran.error).toContain('goes 12000 mm/min at most');
    await expect(readdir(out)).rejects.toThrow('ENOENT');
    expect((await runCli(['job', photo, '--only', 'jobs'])).error).toContain(
      '--only: must be one of job, walk, mark, picture or drawing',
    );
    expect((await runCli(['job', photo, '--beam', 'on'])).code).toBe(2);
    const scaled = await runCli(['job', photo, '--out', out, '--power-scale', '0']);
    expect(scaled.code).toBe(2);
    expect(scaled.error).toContain('--power-scale: must be a number from 1 to');
  });

  test('a burn that broke off is taken up from a row, with its cautions and what the pause does', async () => {
    const out = folder.file('on');
    const call = ['job', photo, '--piece', pieceFile, '--out', out];
    const ran = await runCli([...call, '--from-row', '120', '--of-pass', '2', '--paused', '45']);
    expect(ran.error).toBe('');
    expect(await readdir(out)).toEqual(['ramp-pass-2-from-row-120.gcode']);
    expect(ran.out).toMatch(/Row 120 of 200, 11\.9 mm from the edge/);
    expect(ran.out).toMatch(/A pause of 45 min before row 120/);
    expect(ran.out).toContain('look that row 119 is whole');
    expect(ran.out).toContain('Never leave a burn alone until cold.');
    const text = await readFile(folder.file('on/ramp-pass-2-from-row-120.gcode'), 'ascii');
    expect(text).toContain('(Taken up from row 120 of 200: rows before it must be burned already.)');
    readProgram(text);
    const minute = await runCli([...call, '--from-minute', '0.5', '--json']);
    expect(JSON.parse(minute.out).takenUp.row).toBeGreaterThan(1);
    for (const [options, code, why] of [
      [
        ['--from-row', '900'],
        1,
        'Pass 1 has nothing to burn from row 900 on: rows count from 1, and the last that burns is row 200.',
      ],
      [['--from-row', '1.5'], 2, '--from-row: must be a whole number'],
      [['--from-row', '3', '--from-minute', '2'], 2, 'give one of --from-row and --from-minute'],
      [['--from-place', '3'], 2, '--from-place: write it as 120.5,214.7'],
      [['--from-row', '3', '--of-pass', '3'], 1, '--of-pass: there is no pass 3'],
      [['--paused', '3'], 2, '--paused goes with --from-row'],
    ] as const) {
      const refused = await runCli([...call, ...options]);
      expect([refused.code, refused.error]).toEqual([code, expect.stringContaining(why)]);
    }
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
