import sharp from 'sharp';
import { beforeAll, describe, expect, test } from 'vitest';
import { warmShares } from '../../src/burn/even-power.ts';
import { planPass, subCells } from '../../src/burn/plan.ts';
import { createProofPipeline } from '../../src/burn/proof.ts';
import type { SwathRunner } from '../../src/burn/runner.ts';
import { openMachineFile } from '../../src/outputs/program/machine-files.ts';
import type { Pass, Piece } from '../../src/piece/schema.ts';
import { packTiles } from '../../src/piece/tiles.ts';
import { burn, flatFilm, pictureOf, plainPiece } from '../helpers/burn.ts';
import { cpuRunner } from '../helpers/cpu-runner.ts';

const WIDE = 150;
const TALL = 100;

/** An even white square, too weakly burned to clear, on work that keeps its heat. */
const warm = (pass: Partial<Pass> = {}): Piece => {
  const piece = flatFilm(plainPiece(WIDE, { screen: 'floyd-steinberg', lightEndPower: 0.5, darkEndPower: 0, ...pass }));
  return { ...piece, heat: { ...piece.heat, carryOver: true } };
};
const white = pictureOf(WIDE, TALL, () => 1);

/** Mean residue of the topmost coat along the rows, in so many parts, the margins and the first rows left out. */
function alongRows(residueUm: Float32Array, parts = 10): number[] {
  return Array.from({ length: parts }, (_, part) => {
    let [sum, count] = [0, 0];
    for (let y = TALL / 2; y < TALL - 4; y++) {
      for (let x = Math.max(4, (part * WIDE) / parts); x < Math.min(WIDE - 4, ((part + 1) * WIDE) / parts); x++) {
        sum += residueUm[y * WIDE + x];
        count++;
      }
    }
    return sum / count;
  });
}

describe('power that follows the heat', () => {
  let runner: SwathRunner;
  beforeAll(async () => {
    runner = await cpuRunner();
  });
  const residueOf = async (piece: Piece) => alongRows((await burn(piece, white, runner)).residueUm[0]);

  test('takes away what it takes from cold work, within a fifth of what heat made of it', async () => {
    const piece = warm();
    const cold = await residueOf({ ...piece, heat: { ...piece.heat, carryOver: false } });
    const uneven = await residueOf(piece);
    const even = await residueOf({ ...piece, passes: [{ ...piece.passes[0], evenPower: true }] });
    const off = (values: readonly number[]) => Math.max(...values.map((value, i) => Math.abs(value - cold[i])));
    expect(off(uneven)).toBeGreaterThan(1);
    expect(off(even)).toBeLessThan(0.2 * off(uneven));
  });

  test('brings a narrow part, which runs hot, to a wide one', async () => {
    const narrow = (x: number, y: number) => y > 60 || (x > 65 && x < 85);
    const shape = pictureOf(WIDE, TALL, (x, y) => (narrow(x, y) ? 1 : 0));
    const apart = async (evenPower: boolean) => {
      const { residueUm } = await burn(warm({ evenPower }), shape, runner);
      const mean = (x0: number, x1: number, y0: number, y1: number) => {
        let sum = 0;
        for (let y = y0; y < y1; y++) for (let x = x0; x < x1; x++) sum += residueUm[0][y * WIDE + x];
        return sum / (x1 - x0) / (y1 - y0);
      };
      return Math.abs(mean(70, 80, 20, 50) - mean(20, 130, 75, 95));
    };
    const before = await apart(false);
    expect(before).toBeGreaterThan(0.5);
    expect(await apart(true)).toBeLessThan(0.4 * before);
  });

  test('two-way rows come out alike at both ends, one-way rows too', async () => {
    for (const rows of ['two-way', 'one-way'] as const) {
      const even = await residueOf(warm({ rows, evenPower: true }));
      expect(Math.abs(even[0] - even[9])).toBeLessThan(0.5);
    }
  });
});

test('the share that does the same on warm work is the law’s own, where one row decides', () => {
  const piece = warm({ rowPitchMm: 0.1 });
  const grid = { width: WIDE, height: TALL, pitchMm: 0.1, ...subCells(piece) };
  const planned = planPass(piece, piece.passes[0], grid);
  const shares = warmShares(piece, planned, planned.wattsAt[255]);
  expect(shares[0]).toBe(1);
  for (let i = 1; i < shares.length; i++) expect(shares[i]).toBeLessThanOrEqual(shares[i - 1]);
  // At 72 K a threshold is a fifth lower (72 of 360 K); what goes over it must stay, so the share lies between 0.8 and 1.
  expect(shares[36]).toBeGreaterThan(0.8);
  expect(shares[36]).toBeLessThan(1);
});

test('a film that is known to be thin gets less and clears all the same; a thicker one gets all there is', async () => {
  const runner = await cpuRunner();
  const piece = warm({ lightEndPower: 0.9, evenPower: true });
  // The left half of the picture 0.6, the right half 1.2 times as thick as the mean.
  const tiles = packTiles(2, 2, Uint8Array.of(77, 154, 77, 154));
  const found = { xMm: -8, yMm: -8, pitchMm: 8, tiles };
  const known = { ...piece, stack: { ...piece.stack, film: { ...piece.stack.film, found } } };
  const { proof, residueUm } = await burn(known, white, runner);
  const meanOf = (values: ArrayLike<number>, x0: number, x1: number) => {
    let sum = 0;
    for (let y = 20; y < TALL - 5; y++) for (let x = x0; x < x1; x++) sum += values[y * WIDE + x];
    return sum / (x1 - x0) / (TALL - 25);
  };
  const { levels } = proof.screened[0];
  const plain = (await burn(piece, white, runner)).proof.screened[0].levels;
  expect(meanOf(levels, 5, 25)).toBeLessThan(meanOf(plain, 5, 25) - 20);
  expect(meanOf(levels, 125, 145)).toBeGreaterThan(meanOf(plain, 125, 145));
  expect(meanOf(residueUm[0], 5, 25)).toBeLessThan(0.5);
});

test('a source that comes late gets more where a stretch begins, within what warm work leaves over, and never more than the light end', async () => {
  const runner = await cpuRunner();
  const late = (evenPower: boolean): Piece => {
    const piece = warm({ evenPower });
    const source = { ...piece.machine.source, riseTimeS: 0.0008, fallTimeS: 0.0008 };
    return { ...piece, machine: { ...piece.machine, source } };
  };
  const stripes = pictureOf(WIDE, TALL, (x) => (x % 30 < 15 ? 1 : 0));
  const evened = (await burn(late(true), stripes, runner)).proof.screened[0];
  const plain = (await burn(late(false), stripes, runner)).proof.screened[0];
  const row = TALL - 10;
  const backwards = evened.spans.backwards[row] === 1;
  const levels = Array.from(evened.levels.subarray(row * WIDE, (row + 1) * WIDE));
  const first = backwards ? 74 : 60;
  const fifth = backwards ? 70 : 64;
  expect(plain.levels[row * WIDE + first]).toBe(255);
  expect(levels[first]).toBeGreaterThan(levels[fifth]);
  expect(Math.max(...levels)).toBeLessThanOrEqual(255);
  // What is meant to stay dark stays so, and what is meant to open is still told from it.
  expect(levels.every((level, x) => (x % 30 < 15 ? level >= 128 : level === 0))).toBe(true);
});

describe('the same levels', () => {
  const photo = { key: 'white', picture: white, castless: null };
  const piece = warm({ evenPower: true });

  test('are in a proof of a part and in the machine’s picture, and one bit says that it cannot hold them', async () => {
    const runner = await cpuRunner();
    const pipeline = createProofPipeline();
    const { screened } = await pipeline.ready({ piece, photo });
    expect(new Set(screened[0].levels).size).toBeGreaterThan(3);
    const crop = { xMm: 3, yMm: 4, widthMm: 5, heightMm: 3 };
    const collect = { surface: true, fields: false, painted: false };
    const part = await pipeline.crop({ piece, photo, crop, collect }, runner);
    expect(part.screened[0].levels).toEqual(screened[0].levels);
    const file = await openMachineFile({ kind: 'picture', index: 0, form: 'dots-8', negative: false }, piece, photo);
    const chunks: Uint8Array[] = [];
    for await (const { bytes } of file.parts) chunks.push(bytes);
    const grey = await sharp(Buffer.concat(chunks)).extractChannel(0).raw().toBuffer();
    expect(new Uint8Array(grey)).toEqual(screened[0].levels);
    expect(file.cautions).toEqual([]);
    const bits = await openMachineFile({ kind: 'picture', index: 0, form: 'dots-1', negative: false }, piece, photo);
    expect(bits.cautions.join(' ')).toMatch(/no room for power that follows heat/);
  });
});
