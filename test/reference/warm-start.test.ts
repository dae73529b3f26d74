import { beforeAll, describe, expect, test } from 'vitest';
import { mmPerMinToMmPerS } from '../../src/base/units.ts';
import { planPass } from '../../src/burn/plan.ts';
import type { SwathRunner } from '../../src/burn/runner.ts';
import { DECOMPOSITION_RISE_K, warmFactor } from '../../src/burn/swath.ts';
import { heatShare, THERMAL_THRESHOLD_J_PER_MM2 } from '../../src/physics/heat/heat-sources.ts';
import { binWarmthK, passWarmth } from '../../src/physics/heat/warmth.ts';
import { createPassRaster, findSpans } from '../../src/physics/raster/pass-raster.ts';
import { createPiece, plainSlab } from '../../src/piece/defaults.ts';
import type { Piece } from '../../src/piece/schema.ts';
import { createCardOracle } from '../../src/studies/calibrate/predict-card.ts';
import { evenBurn } from '../../src/vision/card/make-card.ts';
import { burn, flatFilm, pictureOf } from '../helpers/burn.ts';
import { cpuRunner } from '../helpers/cpu-runner.ts';
import { crossed } from './finer-model/tabulated.ts';
import { CLEAR_WORLD, SMOKY_WORLD, type World } from './finer-model/world.ts';

/** What heat between rows does, and that it goes with the threshold. No source but where one is named: the law is held against the finer model. */
const PITCH = 25.4 / 300;

function presetPiece(columns: number, power: number): Piece {
  const piece = flatFilm(createPiece('test', 'test.png'));
  return {
    ...piece,
    slab: { ...plainSlab(piece.slab), shape: 'rectangle', widthMm: 1000, heightMm: 1000 },
    picture: { ...piece.picture, widthMm: columns * PITCH, crop: 'rectangle' },
    passes: [
      {
        ...piece.passes[0],
        feedMmPerS: mmPerMinToMmPerS(7000),
        rowPitchMm: PITCH,
        lightEndPower: power,
        darkEndPower: 0,
        screen: 'continuous',
      },
    ],
  };
}

describe('warm work against the finer model', () => {
  // Absorbed dose that takes so much of 25 µm at one crossing, by bisection.
  const doseFor = (world: World, goneUm: number, warmK: number): number => {
    let [low, high] = [1e-3, 1];
    for (let i = 0; i < 26; i++) {
      const middle = Math.sqrt(low * high);
      if (25 - crossed(world, 0.1, 7000 / 60, 25, middle, warmK) < goneUm) low = middle;
      else high = middle;
    }
    return (1 - world.layers[0].reflectance) * high;
  };

  test.each([
    ['clear', CLEAR_WORLD],
    ['smoky', SMOKY_WORLD],
  ] as const)('%s: 1 K less to go saves as much of a dose as the law says, within a half', (_, world) => {
    // Measured 5.8e-5 and 8.3e-5 J/mm² per K for a bite of 12 µm, 3.7e-5 and 5.5e-5 at the onset; the law has 5.6e-5 for both.
    const perK = (gone: number) => (doseFor(world, gone, 0) - doseFor(world, gone, 40)) / 40;
    const law = (THERMAL_THRESHOLD_J_PER_MM2 * (1 - warmFactor(40))) / 40;
    expect(law).toBeCloseTo(THERMAL_THRESHOLD_J_PER_MM2 / DECOMPOSITION_RISE_K, 9);
    for (const gone of [0.3, 12]) {
      expect(perK(gone) / law).toBeGreaterThan(0.5);
      expect(perK(gone) / law).toBeLessThan(1.6);
    }
  });
});

test('threshold and heat go together: what a doubled threshold is spared by heat stays the same', () => {
  const { heat, stack } = createPiece('test', 'test.png');
  const [top] = stack.coats;
  const doubled = { ...top, thresholdJPerMm2: 2 * top.thresholdJPerMm2 };
  expect(heatShare(heat, doubled) * doubled.thresholdJPerMm2).toBeCloseTo(
    heatShare(heat, top) * top.thresholdJPerMm2,
    12,
  );
  expect(heatShare(heat, { thresholdJPerMm2: 0.01 })).toBe(heat.retainedShare);
  expect(heatShare(heat, { thresholdJPerMm2: 0 })).toBe(heat.retainedShare);
});

describe('what heat does to a picture', () => {
  let runner: SwathRunner;
  beforeAll(async () => {
    runner = await cpuRunner();
  });

  test('a white square of 20 mm does not clear by its own heat', async () => {
    // Practice knows nothing of small pictures that clear at five sixths of the power (common practice, no published source).
    const size = Math.round(20 / PITCH);
    const piece = presetPiece(size, 0.525);
    const white = pictureOf(size, size, () => 1);
    const warm = await burn(piece, white, runner);
    const cold = await burn({ ...piece, heat: { ...piece.heat, carryOver: false } }, white, runner);
    expect(cold.proof.summary.meanResidueUm).toBeGreaterThan(4);
    expect(warm.proof.summary.meanResidueUm).toBeLessThan(cold.proof.summary.meanResidueUm);
    // 1.5 µm of 5.1; with the whole of the name plate as heat all of them were gone.
    expect(warm.proof.summary.meanResidueUm).toBeGreaterThan(0.65 * cold.proof.summary.meanResidueUm);
  });
});

test('a picture four times as wide has the same mid-tones', () => {
  const lightness = (widthMm: number, power: number): number => {
    const columns = Math.round(widthMm / PITCH);
    const rows = Math.round(40 / PITCH);
    const piece = presetPiece(columns, power);
    const raster = createPassRaster(columns * PITCH, rows * PITCH, PITCH, 0);
    const mask = new Uint8Array(columns * rows).fill(255);
    const spans = findSpans(mask, mask, columns, rows, () => true, true);
    const job = planPass(piece, piece.passes[0], { width: columns, height: rows, pitchMm: PITCH, subX: 1, subY: 3 });
    const map = passWarmth(piece, 0, job, { raster, levels: mask, mask, spans });
    const all = binWarmthK(map, spans.backwards);
    const warmK = all[(map.rows >> 1) * map.columns + (map.columns >> 1)];
    const oracle = createCardOracle(piece);
    const cold = { ...piece, heat: { carryOver: true, retainedShare: 1 } };
    const perShare = warmK / heatShare(cold.heat, cold.stack.coats[0]);
    return oracle.patch(cold, { burns: [evenBurn(piece, power)], warmthPerShareK: [perShare] }).lab[0];
  };
  for (const power of [0.38, 0.45]) expect(Math.abs(lightness(51, power) - lightness(200, power))).toBeLessThan(3);
});
