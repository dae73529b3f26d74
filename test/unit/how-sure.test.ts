import { beforeAll, describe, expect, test } from 'vitest';
import { Cancelled } from '../../src/base/stop.ts';
import { createCoarsePipeline } from '../../src/burn/coarse.ts';
import { createProofPipeline } from '../../src/burn/proof.ts';
import type { SwathRunner } from '../../src/burn/runner.ts';
import { PRESET_CERTAINTY } from '../../src/piece/defaults.ts';
import type { Certainty, Piece } from '../../src/piece/schema.ts';
import { packTiles } from '../../src/piece/tiles.ts';
import { howSure } from '../../src/studies/sure/how-sure.ts';
import { judged } from '../../src/studies/sure/judge.ts';
import { drawPiece } from '../../src/studies/sure/spread.ts';
import { burn, flatFilm, pictureOf, plainPiece } from '../helpers/burn.ts';
import { cpuRunner } from '../helpers/cpu-runner.ts';

const NONE: Certainty = {
  source: 'calibrated',
  threshold: 0,
  specificEnergy: 0,
  thickness: 0,
  power: 0,
  covariance: null,
};
const light = pictureOf(80, 60, () => 0.98);
let runner: SwathRunner;
beforeAll(async () => {
  runner = await cpuRunner();
});

const pipeline = createProofPipeline();

async function odds(piece: Piece, certainty: Certainty, draws = 16, picture = light, signal?: AbortSignal) {
  const photo = { key: picture === light ? 'light' : 'dark', picture, castless: null };
  const spread = { ...piece, certainty };
  const ready = await pipeline.ready({ piece: spread, photo });
  const said = await judged(spread, ready, runner, draws, { signal });
  return howSure(spread, said, ready.appearance, createCoarsePipeline().scene(spread, photo), runner, [], signal);
}
const withSpread = (piece: Piece, certainty: Certainty): Piece => ({ ...piece, certainty });
const at = (lightEndPower: number): Piece =>
  plainPiece(80, { screen: 'stucki', lightEndPower, rowPitchMm: 0.1, feedMmPerS: 100 });

describe('drawPiece', () => {
  test('is the same for the same draw, another for another, and itself without spread', () => {
    const piece = at(0.8);
    expect(drawPiece(piece, 3)).toEqual(drawPiece(piece, 3));
    expect(drawPiece(piece, 4)).not.toEqual(drawPiece(piece, 3));
    const [drawn, itself] = [drawPiece(withSpread(piece, NONE), 3), withSpread(piece, NONE)];
    expect({ ...drawn, stack: { ...drawn.stack, film: itself.stack.film } }).toEqual(itself);
    // Nobody knows the film: each draw has one of its own.
    expect(drawn.stack.film).toMatchObject({ shown: 'drawn' });
    expect(drawPiece(itself, 4).stack.film.seed).not.toBe(drawn.stack.film.seed);
  });

  test('spreads as told: logarithms with the given deviation around nothing', () => {
    const piece = at(0.8);
    const logs = Array.from({ length: 2000 }, (_, i) =>
      Math.log(drawPiece(piece, i).stack.coats[0].specificEnergyJPerMm3 / 11.3),
    );
    const mean = logs.reduce((sum, value) => sum + value, 0) / logs.length;
    const deviation = Math.sqrt(logs.reduce((sum, value) => sum + (value - mean) ** 2, 0) / logs.length);
    // Standard errors of 2000 draws: 0.0045 and 0.0032; four of them.
    expect(Math.abs(mean)).toBeLessThan(0.018);
    expect(Math.abs(deviation - PRESET_CERTAINTY.specificEnergy)).toBeLessThan(0.013);
  });
});

describe('how sure the uncleared share is', () => {
  test('without spread every draw is the proof’s own share', async () => {
    const piece = flatFilm(at(0.63));
    const sure = await odds(piece, NONE, 4);
    expect(sure.uncleared?.low).toBe(sure.uncleared?.high);
    const { proof } = await burn(piece, light, runner);
    expect(Math.abs((sure.residueUm?.middle ?? 9) - proof.summary.meanResidueUm)).toBeLessThan(0.05);
    expect(Math.abs(sure.scorched.middle - proof.summary.scorchedShare)).toBeLessThan(0.002);
    // Squares of the picture's own dots stand for all of it.
    expect(proof.summary.unclearedShare).toBeGreaterThan(0.05);
    expect(Math.abs((sure.uncleared?.middle ?? 9) - proof.summary.unclearedShare)).toBeLessThan(0.02);
  });

  test('strong power is sure to clear, weak power is sure not to, between it is open', async () => {
    const [weak, between, strong] = [
      await odds(at(0.4), PRESET_CERTAINTY),
      await odds(at(0.72), PRESET_CERTAINTY),
      await odds(at(1), PRESET_CERTAINTY),
    ];
    expect(weak.clears).toBeLessThan(0.1);
    expect(strong.clears).toBeGreaterThan(0.8);
    expect(between.clears).toBeGreaterThan(0.1);
    expect(between.clears).toBeLessThan(0.9);
    for (const { uncleared, residueUm, scorched } of [weak, between, strong]) {
      for (const band of [uncleared, residueUm, scorched]) {
        expect(band?.low).toBeLessThanOrEqual(band?.middle ?? -1);
        expect(band?.middle).toBeLessThanOrEqual(band?.high ?? -1);
      }
    }
    // Too much power scorches: the surer it clears, the less sure the undercoat stays as it was.
    expect(strong.staysUnscorched).toBeLessThanOrEqual(weak.staysUnscorched);
    // The map says place by place what the share says in one.
    const mean = between.map.uncleared.reduce((sum, value) => sum + value, 0) / between.map.uncleared.length / 255;
    expect(mean).toBeGreaterThan(0.02);
    expect(mean).toBeLessThan(0.5);
  });

  test('the map is likelier where the film was measured thicker', async () => {
    const found = { xMm: -5, yMm: -5, pitchMm: 5, tiles: packTiles(2, 2, Uint8Array.of(100, 156, 100, 156)) };
    const plain = withSpread(at(0.72), PRESET_CERTAINTY);
    const piece = { ...plain, stack: { ...plain.stack, film: { ...plain.stack.film, found } } };
    const scene = createCoarsePipeline().scene(piece, { key: 'light', picture: light, castless: null });
    const { film } = scene.ground;
    const { map } = await odds(piece, PRESET_CERTAINTY);
    const middle = [...film].sort((a, b) => a - b)[film.length >> 1];
    const meanWhere = (test: (thickness: number) => boolean) => {
      const places = [...map.uncleared].filter((_, i) => test(film[i]));
      return places.reduce((sum, value) => sum + value, 0) / places.length;
    };
    expect(meanWhere((t) => t > 1.05 * middle)).toBeGreaterThan(1.2 * meanWhere((t) => t < 0.95 * middle));
  });

  test('a calibrated, narrow spread gives a narrower band', async () => {
    const quarter: Certainty = {
      source: 'calibrated',
      threshold: PRESET_CERTAINTY.threshold / 4,
      specificEnergy: PRESET_CERTAINTY.specificEnergy / 4,
      thickness: PRESET_CERTAINTY.thickness / 4,
      power: PRESET_CERTAINTY.power / 4,
      covariance: null,
    };
    const { uncleared: wide } = await odds(at(0.7), PRESET_CERTAINTY);
    const { uncleared: narrow } = await odds(at(0.7), quarter);
    expect((narrow?.high ?? 9) - (narrow?.low ?? 0)).toBeLessThan((wide?.high ?? 0) - (wide?.low ?? 0));
  });

  test('a picture without light areas has nothing to clear, and a stop is heeded', async () => {
    const dark = pictureOf(80, 60, () => 0.1);
    const sure = await odds(at(0.8), PRESET_CERTAINTY, 2, dark);
    expect([sure.uncleared, sure.residueUm, sure.clears]).toEqual([null, null, null]);
    await expect(odds(at(0.8), PRESET_CERTAINTY, 5, light, AbortSignal.abort(new Cancelled()))).rejects.toThrow(
      'cancelled',
    );
  });
});
