import { beforeAll, describe, expect, test } from 'vitest';
import { colorDifference, type Lab, linearRgbToLab } from '../../src/base/color/lab.ts';
import { decodeSrgb } from '../../src/base/color/srgb.ts';
import { fromHalfFloat } from '../../src/base/half-float.ts';
import { type CoarseProof, createCoarsePipeline } from '../../src/burn/coarse.ts';
import { createProofPipeline } from '../../src/burn/proof.ts';
import type { SwathRunner } from '../../src/burn/runner.ts';
import type { Picture } from '../../src/image/picture.ts';
import { DEFAULT_TONE } from '../../src/piece/defaults.ts';
import type { Piece } from '../../src/piece/schema.ts';
import { burn, flatFilm, pictureOf, plainPiece } from '../helpers/burn.ts';
import { cpuRunner } from '../helpers/cpu-runner.ts';

const SIDE = 40;
/** Four patches: dark, two middles, light. */
const TONES = [0.02, 0.15, 0.45, 0.95];
const patches = pictureOf(2 * SIDE, 2 * SIDE, (x, y) => TONES[(x < SIDE ? 0 : 1) + (y < SIDE ? 0 : 2)]);

const defaultTones = (): Piece => {
  const piece = flatFilm(plainPiece(2 * SIDE, { screen: 'stucki' }));
  return { ...piece, picture: { ...piece.picture, tone: DEFAULT_TONE } };
};

/** Mean colour of one patch, in linear light, its rim left out. */
function patchColor(color: Uint8Array, width: number, patch: number): Lab {
  const side = width / 2;
  const rim = side / 5;
  const [x0, y0] = [patch % 2 === 0 ? 0 : side, patch < 2 ? 0 : side];
  const sum = [0, 0, 0];
  let count = 0;
  for (let y = y0 + rim; y < y0 + side - rim; y++) {
    for (let x = x0 + rim; x < x0 + side - rim; x++) {
      for (let k = 0; k < 3; k++) sum[k] += decodeSrgb(color[4 * (y * width + x) + k] / 255);
      count++;
    }
  }
  return linearRgbToLab([sum[0] / count, sum[1] / count, sum[2] / count]);
}

describe('a coarse proof', () => {
  let runner: SwathRunner;
  let coarseOf: (piece: Piece, picture: Picture, key?: string) => Promise<CoarseProof>;
  beforeAll(async () => {
    runner = await cpuRunner();
    const pipeline = createCoarsePipeline();
    const full = createProofPipeline();
    coarseOf = (piece, picture, key = 'patches') =>
      pipeline.coarse(piece, { key, picture, castless: null }, full.appearance(piece), runner);
  });

  test('has about the colours of the full one', async () => {
    const piece = defaultTones();
    const coarse = await coarseOf(piece, patches);
    const full = await burn(piece, patches, runner);
    expect([coarse.width, coarse.height, coarse.pitchMm]).toEqual([80, 80, 0.1]);
    for (let patch = 0; patch < 4; patch++) {
      const difference = colorDifference(
        patchColor(coarse.color, coarse.width, patch),
        patchColor(full.color, full.width, patch),
      );
      // Patches of 24 × 24 dots of another piece of the same screen, and tones between those of the scale.
      expect(difference).toBeLessThan(3);
    }
  });

  test('a large picture is looked at in at most 640 pixels, a small one dot by dot', async () => {
    const large = { ...defaultTones(), picture: { ...defaultTones().picture, widthMm: 128 } };
    const coarse = await coarseOf(large, patches);
    expect([coarse.width, coarse.height]).toEqual([640, 640]);
    expect(coarse.pitchMm).toBeCloseTo(0.2, 12);
    expect(coarse.color).toHaveLength(4 * 640 * 640);
    expect(coarse.relief).toHaveLength(2 * 640 * 640);
    const wide = await coarseOf(
      defaultTones(),
      pictureOf(80, 1, () => 0.5),
      'line',
    );
    expect([wide.width, wide.height]).toEqual([80, 1]);
  });

  test('outside its crop, and where the photo is transparent, the coat is whole', async () => {
    const piece = { ...defaultTones(), picture: { ...defaultTones().picture, crop: 'oval' as const } };
    const alpha = new Float32Array(6400).fill(1);
    alpha.fill(0, 40 * 80, 44 * 80);
    const coarse = await coarseOf(piece, { ...pictureOf(80, 80, () => 0.95), alpha }, 'hole');
    const color = (x: number, y: number) => Array.from(coarse.color.subarray(4 * (y * 80 + x), 4 * (y * 80 + x) + 4));
    expect(color(40, 42)).toEqual(color(0, 0));
    expect(color(40, 20)).not.toEqual(color(0, 0));
    expect(fromHalfFloat(coarse.relief[2 * (42 * 80 + 40)])).toBe(0);
    expect(fromHalfFloat(coarse.relief[2 * (20 * 80 + 40)])).toBeLessThan(-20);
    expect(color(0, 0)[3]).toBe(0);
  });

  test('uneven films show', async () => {
    const flat = defaultTones();
    const uneven: Piece = {
      ...flat,
      stack: {
        ...flat.stack,
        film: { shown: 'drawn', seed: 3, slowScaleMm: 1, fineScaleMm: 1, found: null },
        coats: flat.stack.coats.map((coat) => ({ ...coat, slowVariation: 0.15 })),
      },
    };
    const light = pictureOf(80, 80, () => 0.6);
    const spread = ({ color }: CoarseProof) => {
      const values = Array.from({ length: 6400 }, (_, i) => color[4 * i]);
      return Math.max(...values) - Math.min(...values);
    };
    expect(spread(await coarseOf(uneven, light, 'light'))).toBeGreaterThan(
      spread(await coarseOf(flat, light, 'light')) + 10,
    );
  });
});
