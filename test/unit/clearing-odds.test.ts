import { beforeAll, describe, expect, test } from 'vitest';
import { buildAppearance } from '../../src/core/material/appearance.ts';
import type { Piece } from '../../src/core/piece/schema.ts';
import { drawPiece, PRESET_SPREAD, type Spread } from '../../src/core/quality/spread.ts';
import { createGpuJsBackend } from '../../src/kernels/gpu-js.ts';
import { clearingOdds } from '../../src/sim/clearing-odds.ts';
import { createCoarsePipeline } from '../../src/sim/coarse.ts';
import { createInlineRunner, type StripRunner } from '../../src/sim/runner.ts';
import { burn, pictureOf, plainPiece } from '../helpers/burn.ts';

const NONE: Spread = { threshold: 0, specificEnergy: 0, thickness: 0, power: 0 };
const light = pictureOf(80, 60, () => 0.98);
let runner: StripRunner;
beforeAll(async () => {
  runner = createInlineRunner(await createGpuJsBackend('cpu', 'test'));
});

function odds(piece: Piece, spread: Spread, draws = 16, picture = light) {
  const scene = createCoarsePipeline().scene(piece, { key: 'light', picture });
  return clearingOdds(piece, scene, buildAppearance(piece.stack, piece.slab.wood), runner, spread, draws);
}
const at = (lightEndPower: number): Piece =>
  plainPiece(80, { screen: 'stucki', lightEndPower, rowPitchMm: 0.1, feedMmPerS: 100 });

describe('drawPiece', () => {
  test('is the same for the same draw, another for another, and itself without spread', () => {
    const piece = at(0.8);
    expect(drawPiece(piece, PRESET_SPREAD, 3)).toEqual(drawPiece(piece, PRESET_SPREAD, 3));
    expect(drawPiece(piece, PRESET_SPREAD, 4)).not.toEqual(drawPiece(piece, PRESET_SPREAD, 3));
    expect(drawPiece(piece, NONE, 3)).toEqual(piece);
  });

  test('spreads as told: logarithms with the given deviation around nothing', () => {
    const piece = at(0.8);
    const logs = Array.from({ length: 2000 }, (_, i) =>
      Math.log(drawPiece(piece, PRESET_SPREAD, i).stack.coats[0].specificEnergyJPerMm3 / 11.3),
    );
    const mean = logs.reduce((sum, value) => sum + value, 0) / logs.length;
    const deviation = Math.sqrt(logs.reduce((sum, value) => sum + (value - mean) ** 2, 0) / logs.length);
    // Standard errors of 2000 draws: 0.0045 and 0.0032; four of them.
    expect(Math.abs(mean)).toBeLessThan(0.018);
    expect(Math.abs(deviation - PRESET_SPREAD.specificEnergy)).toBeLessThan(0.013);
  });
});

describe('how sure the uncleared share is', () => {
  test('without spread every draw is the proof’s own share', async () => {
    const piece = at(0.66);
    const sure = await odds(piece, NONE, 4);
    expect(sure?.low).toBe(sure?.high);
    const { proof } = await burn(piece, light, runner);
    // Even patches stand for the picture: within a tenth where the share depends most on power.
    expect(Math.abs((sure?.middle ?? 9) - proof.summary.unclearedShare)).toBeLessThan(0.1);
  });

  test('strong power is sure to clear, weak power is sure not to, between it is open', async () => {
    const [weak, between, strong] = [
      await odds(at(0.4), PRESET_SPREAD),
      await odds(at(0.72), PRESET_SPREAD),
      await odds(at(1), PRESET_SPREAD),
    ];
    expect(weak?.clears).toBeLessThan(0.1);
    expect(strong?.clears).toBeGreaterThan(0.8);
    expect(between?.clears).toBeGreaterThan(0.1);
    expect(between?.clears).toBeLessThan(0.9);
    for (const one of [weak, between, strong]) {
      expect(one?.low).toBeLessThanOrEqual(one?.middle ?? -1);
      expect(one?.middle).toBeLessThanOrEqual(one?.high ?? -1);
    }
  });

  test('a calibrated, narrow spread gives a narrower band', async () => {
    const half = Object.fromEntries(
      Object.entries(PRESET_SPREAD).map(([key, value]) => [key, value / 4]),
    ) as unknown as Spread;
    const wide = await odds(at(0.7), PRESET_SPREAD);
    const narrow = await odds(at(0.7), half);
    expect((narrow?.high ?? 9) - (narrow?.low ?? 0)).toBeLessThan((wide?.high ?? 0) - (wide?.low ?? 0));
  });

  test('a picture without light areas has nothing to clear, and a stop is heeded', async () => {
    expect(
      await odds(
        at(0.8),
        PRESET_SPREAD,
        2,
        pictureOf(80, 60, () => 0.1),
      ),
    ).toBeNull();
    const piece = at(0.8);
    const scene = createCoarsePipeline().scene(piece, { key: 'light', picture: light });
    const stopped = clearingOdds(
      piece,
      scene,
      buildAppearance(piece.stack, piece.slab.wood),
      runner,
      NONE,
      5,
      async () => false,
    );
    await expect(stopped).rejects.toThrow('cancelled');
  });
});
