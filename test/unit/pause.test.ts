import { describe, expect, it } from 'vitest';
import { createCoarsePipeline } from '../../src/burn/coarse.ts';
import { planPass } from '../../src/burn/plan.ts';
import { createProofPipeline } from '../../src/burn/proof.ts';
import { warmthAt } from '../../src/burn/swath.ts';
import { pauseEffect } from '../../src/outputs/program/take-up.ts';
import { spreadLineRise, woodThermal } from '../../src/physics/heat/heat-sources.ts';
import { type Pause, passWarmth } from '../../src/physics/heat/warmth.ts';
import { createPassRaster, findSpans, type ScreenedPass } from '../../src/physics/raster/pass-raster.ts';
import { travelRows } from '../../src/physics/raster/pass-time.ts';
import type { Piece } from '../../src/piece/schema.ts';
import { pictureOf, plainPiece } from '../helpers/burn.ts';
import { cpuRunner } from '../helpers/cpu-runner.ts';

const PITCH = 0.1;
const COLUMNS = 600;
const ROWS = 300;
const piece: Piece = {
  ...plainPiece(COLUMNS, { rowPitchMm: PITCH, feedMmPerS: 100, lightEndPower: 0.8, rows: 'one-way' }),
  heat: { carryOver: true, retainedShare: 0.3 },
};
const raster = createPassRaster(COLUMNS * PITCH, ROWS * PITCH, PITCH, 0);
const levels = new Uint8Array(COLUMNS * ROWS).fill(255);
const mask = new Uint8Array(COLUMNS * ROWS).fill(255);
const screened: ScreenedPass = {
  raster,
  levels,
  mask,
  spans: findSpans(levels, mask, COLUMNS, ROWS, () => true, false),
};
const job = planPass(piece, piece.passes[0], { width: COLUMNS, height: ROWS, pitchMm: PITCH, subX: 1, subY: 3 });

const middles: number[] = [];
const starts: number[] = [];
travelRows(screened.spans, PITCH, piece.passes[0], piece.machine.motion, ({ startS, endS }) => {
  starts.push(startS);
  middles.push((startS + endS) / 2);
});
const pause: Pause = { atS: starts[200], lengthS: 1800 };
const warmthOf = (pauses: readonly Pause[]) => {
  const map = passWarmth(piece, 0, job, screened, undefined, pauses);
  const column = Math.floor(COLUMNS / 2 / map.dotsPerBin);
  return (row: number) => warmthAt(map, (column + 0.5) * map.dotsPerBin, row + 0.5, row, 0);
};

describe('a stop in a pass', () => {
  const plain = warmthOf([]);
  const held = warmthOf([pause]);

  it('leaves the rows before it as they were', () => {
    for (const row of [10, 90, 189]) expect(held(row)).toBe(plain(row));
  });

  it('makes rows after it colder, as the sum of the line sources says, the first ones most', () => {
    const ground = woodThermal(piece.slab.wood.densityKgPerM3);
    const [{ absorptance, thresholdJPerMm2 }] = piece.stack.coats;
    const heatJPerMm = (0.3 * (0.02 / thresholdJPerMm2) * absorptance * 8) / 100;
    const late = (row: number) => middles[row] + (row >= 200 ? pause.lengthS : 0);
    for (const row of [210, 250, 290]) {
      let sum = 0;
      for (let r = 0; r < row; r++) {
        sum += spreadLineRise(ground, heatJPerMm, 0.1, (row - r) * PITCH, 0, late(row) - late(r));
      }
      expect(held(row)).toBeLessThan(plain(row));
      expect(Math.abs(held(row) / sum - 1)).toBeLessThan(0.05);
    }
    expect(plain(210) - held(210)).toBeGreaterThan(plain(290) - held(290));
  });

  it('leaves more of the coat in the rows after it, and nothing different where rows start cold', async () => {
    const photo = { key: 'p', picture: pictureOf(60, 30, () => 1), castless: null };
    const small = { ...piece, picture: { ...piece.picture, widthMm: COLUMNS * PITCH } };
    const coarse = createCoarsePipeline();
    const runner = await cpuRunner();
    const appearance = createProofPipeline().appearance(small);
    const effectOf = (one: Piece) =>
      pauseEffect(one, 0, pause, [screened], coarse.scene(one, photo), appearance, runner);
    const warm = await effectOf(small);
    expect(warm.colderK).toBeGreaterThan(0.5);
    expect(warm.reachMm).toBeGreaterThan(0);
    expect(warm.justAfter).toBeGreaterThanOrEqual(warm.withoutThere);
    expect(warm.after).toBeGreaterThanOrEqual(warm.before);
    const cold = await effectOf({ ...small, heat: { ...small.heat, carryOver: false } });
    expect(cold).toMatchObject({ colderK: 0, after: cold.before });
  });
});
