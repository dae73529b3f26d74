import { readFile } from 'node:fs/promises';
import { decode } from 'fast-png';
import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { runCli, temporaryFolder } from '../helpers/command-line.ts';

let folder: Awaited<ReturnType<typeof temporaryFolder>>;
let photo = '';
beforeAll(async () => {
  folder = await temporaryFolder();
  photo = folder.file('ramp.png');
  const data = Uint8Array.from({ length: 90 * 60 }, (_, i) => Math.round((255 * (i % 90)) / 89));
  await sharp(data, { raw: { width: 90, height: 60, channels: 1 } })
    .png()
    .toFile(photo);
});
afterAll(() => folder.remove());

describe('prepare', () => {
  test('writes the picture at its true size, transparent outside the crop, as two decoders read it', async () => {
    const out = folder.file('ready.png');
    const ran = await runCli(['prepare', photo, '--width-mm', '30', '--row-pitch', '0.2', '--out', out, '--json']);
    expect(ran).toMatchObject({ code: 0, error: '' });
    const report = JSON.parse(ran.out);
    expect(report).toMatchObject({ widthPx: 150, heightPx: 100, widthMm: 30, heightMm: 20 });
    // The default crop is an oval: π/4 of the box.
    expect(report.burnedShare).toBeCloseTo(Math.PI / 4, 2);

    const info = await sharp(out).metadata();
    expect([info.width, info.height, info.channels, info.hasAlpha]).toEqual([150, 100, 2, true]);
    // 5 dots a millimetre are 127 pixels per inch.
    expect(info.density).toBe(127);
    const other = decode(await readFile(out));
    expect([other.width, other.height, other.channels, other.depth]).toEqual([150, 100, 2, 8]);
    expect(other.resolution).toMatchObject({ x: 5000, y: 5000 });
    const at = (x: number, y: number) => [other.data[2 * (150 * y + x)], other.data[2 * (150 * y + x) + 1]];
    expect(at(2, 2)[1]).toBe(0);
    expect(at(75, 50)[1]).toBe(255);
    expect(at(130, 50)[0]).toBeGreaterThan(at(20, 50)[0] + 60);
    // It gives grey as three equal colours.
    const pixels = await sharp(out).raw().toBuffer();
    expect(pixels.filter((_, i) => i % 4 === 0 || i % 4 === 3)).toEqual(Buffer.from(other.data as Uint8Array));
  });

  test('says when the photo holds less than the rows can show, in words', async () => {
    const out = folder.file('soft.png');
    const ran = await runCli(['prepare', photo, '--width-mm', '100', '--out', out]);
    expect(ran.code).toBe(0);
    expect(ran.out).toContain(`${out}: 1000 × 667 dots, 100.0 × 66.7 mm.`);
    expect(ran.out).toContain('Your photograph gives 23 pixels per inch at this size');
  });

  test('a missing photograph or piece is told by name', async () => {
    expect((await runCli(['prepare'])).code).toBe(2);
    const missing = await runCli(['prepare', photo, '--piece', folder.file('none.foreburn')]);
    expect(missing.code).toBe(1);
    expect(missing.error).toContain('none.foreburn: there is no such file');
  });
});
