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

  test('letters what it is told to, beside the picture and along the rim, and says what it cannot', async () => {
    const out = folder.file('lettered.png');
    const size = ['--width-mm', '60', '--row-pitch', '0.25', '--out', out, '--json'];
    const lettered = (...more: string[]) => runCli(['prepare', photo, ...size, ...more]);
    const ran = await lettered('--text', 'Hollin Reach; y=80; caps=12; tone=90', '--border', 'rim=4; line=2');
    expect(ran).toMatchObject({ code: 0, error: '' });
    const { widthMm, heightMm } = JSON.parse(ran.out);
    // As far as the border goes: the slab's 300 × 240 mm and half a millimetre on either side.
    expect([widthMm, heightMm]).toEqual([expect.closeTo(301, 0), expect.closeTo(241, 0)]);
    const { data, info } = await sharp(out).raw().toBuffer({ resolveWithObject: true });
    const at = (xMm: number, yMm: number) => {
      const i =
        info.channels * (Math.round(info.height / 2 + 4 * yMm) * info.width + Math.round(info.width / 2 + 4 * xMm));
      return [data[i], data[i + info.channels - 1]];
    };
    expect(at(0, 116)).toEqual([255, 255]);
    expect(at(0, 110)[1]).toBe(0);
    const row = Array.from({ length: 400 }, (_, k) => at(-50 + k / 4, 74));
    // Stems of capitals and letters, with gaps between them, in their own tone.
    expect(row.filter(([, cover]) => cover === 255).length).toBeGreaterThan(30);
    expect(row.filter(([, cover]) => cover === 0).length).toBeGreaterThan(100);
    for (const [grey, cover] of row) if (cover === 255) expect(Math.abs(grey - 226)).toBeLessThan(6);
    expect((await lettered('--text', 'a; colour=red')).error).toMatch(/--text: "colour=red" is not one of/);
    expect((await lettered('--text', 'a; rim=5; x=3')).error).toMatch(/not both/);
    expect((await lettered('--text', 'a漢')).error).toMatch(/--text: this font has no “漢”/);
    expect((await lettered('--border', 'rim=900')).error).toMatch(/--border rim: must be a number from/);
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
