import { readFile, writeFile } from 'node:fs/promises';
import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { createPiece } from '../../src/piece/defaults.ts';
import { decodePieceFile, encodePieceFile } from '../../src/piece/file.ts';
import { runCli, temporaryFolder } from '../helpers/command-line.ts';

let folder: Awaited<ReturnType<typeof temporaryFolder>>;
let path = '';
beforeAll(async () => {
  folder = await temporaryFolder();
  const piece = createPiece('Reach', 'reach.png');
  const small = { ...piece, picture: { ...piece.picture, widthMm: 24, crop: 'rectangle' as const } };
  const light = { create: { width: 60, height: 45, channels: 3 as const, background: '#ffffff' } };
  const dark = {
    input: { create: { width: 20, height: 45, channels: 3 as const, background: '#000000' } },
    left: 0,
    top: 0,
  };
  const photo = new Uint8Array(await sharp(light).composite([dark]).png().toBuffer());
  path = folder.file('reach.foreburn');
  await writeFile(path, encodePieceFile({ piece: small, images: new Map([['reach.png', photo]]) }));
});
afterAll(() => folder.remove());

const read = async (file: string) => decodePieceFile(new Uint8Array(await readFile(file)));

describe('rescue', { timeout: 360_000 }, () => {
  test('says in sentences what to burn next and writes the piece with that pass', async () => {
    const out = folder.file('saved.foreburn');
    const ran = await runCli(['rescue', '--piece', path, '--light-end', '50', '--cold', '--tries', '16', '--out', out]);
    expect(ran.error).toBe('');
    expect(ran.code).toBe(0);
    expect(ran.out).toMatch(/at the light end and 0 % at the dark end/);
    expect(ran.out).toMatch(
      /Light areas left dark: \d+ %( \(likely \d+–\d+ %\))? before, \d+ %( \(likely \d+–\d+ %\))? after\./,
    );
    expect(ran.out).toMatch(/Try these on an edge of the picture first.*\n +[\d.]+ % {2}Does nothing one can see\./);
    expect(ran.out).toMatch(/1\. Leave the slab clamped/);
    const { piece, images } = await read(out);
    expect(piece.passes).toHaveLength(2);
    expect(piece.passes[1].darkEndPower).toBe(0);
    expect([...images.keys()]).toEqual(['reach.png']);
  });

  test('promises what the proof of the rescued piece then says', async () => {
    const out = folder.file('promised.foreburn');
    const settings = ['--light-end', '50', '--cold', '--tries', '32'];
    const ran = await runCli(['rescue', '--piece', path, ...settings, '--out', out, '--json']);
    expect(ran.error).toBe('');
    const { before, plan } = JSON.parse(ran.out);
    const proofOf = async (file: string) => {
      const proof = await runCli(['proof', '--piece', file, '--cold', '--out', folder.file('promised'), '--json']);
      return JSON.parse(proof.out).bands;
    };
    const bands = await proofOf(out);
    for (const end of ['low', 'middle', 'high']) {
      expect(plan.after.uncleared[end]).toBeCloseTo(bands.uncleared[end], 6);
      expect(plan.after.scorched[end]).toBeCloseTo(bands.scorched[end], 6);
    }
    expect(plan.after.clears).toBeCloseTo(bands.clears, 6);
    expect(plan.saves).toBeCloseTo(bands.accepted, 6);

    // Without the pass it comes out as it was seen to, and no less surely: the day's watts are in what was seen.
    const { piece, images } = await read(out);
    expect(piece.certainty.power).toBe(0);
    const once = folder.file('once.foreburn');
    await writeFile(once, encodePieceFile({ piece: { ...piece, passes: piece.passes.slice(0, 1) }, images }));
    const { uncleared } = await proofOf(once);
    expect(Math.abs(uncleared.middle - before.uncleared.middle)).toBeLessThan(0.1);
  });

  test('refuses words it does not know and a photograph without corners', async () => {
    const words = await runCli(['rescue', '--piece', path, '--words', 'ugly']);
    expect(words.code).toBe(2);
    expect(words.error).toMatch(/--words: must be one of blotchy, just-marks, dull, scorched, got "ugly"/);
    const corners = await runCli(['rescue', '--piece', path, '--photo-of-piece', path, '--corners', '1,2,3']);
    expect(corners.code).toBe(2);
    expect(corners.error).toMatch(/--corners: must be eight numbers/);
  });
});

describe('strip', { timeout: 120_000 }, () => {
  const order = ['--crop', '4,2,10,5', '--from', '40', '--to', '100', '--bands', '3'];

  test('writes a piece that burns in bands, and what each comes out as', async () => {
    const out = folder.file('strip.foreburn');
    const ran = await runCli(['strip', '--piece', path, ...order, '--cold', '--out', out, '--json']);
    expect(ran.error).toBe('');
    const { bands } = JSON.parse(ran.out);
    expect(bands).toHaveLength(3);
    expect(bands[0].uncleared).toBeGreaterThan(bands[2].uncleared);
    const { piece, images } = await read(out);
    expect(piece.passes.slice(1).map((pass) => pass.lightEndPower)).toEqual([0.4, 0.7, 1]);
    expect(images.has(piece.picture.file)).toBe(true);
    const proof = await runCli(['proof', '--piece', out, '--tries', '0', '--cold', '--out', folder.file('proof')]);
    expect(proof.code).toBe(0);
  });

  test('takes in which band was clear', async () => {
    const out = folder.file('learned.foreburn');
    const ran = await runCli(['strip', '--piece', path, ...order, '--cold', '--clears', '3', '--out', out]);
    expect(ran.error).toBe('');
    expect(ran.out).toMatch(/Taken in: the top coat’s threshold changes by -?\d+ %/);
    const { piece } = await read(out);
    expect(piece.certainty.source).toBe('calibrated');
    expect(piece.certainty.covariance).not.toBeNull();
    expect(piece.passes).toHaveLength(1);
  });

  test('says what is missing', async () => {
    const ran = await runCli(['strip', '--piece', path, '--from', '40', '--to', '90']);
    expect(ran.code).toBe(2);
    expect(ran.error).toMatch(/give --crop X,Y,W,H/);
  });
});
