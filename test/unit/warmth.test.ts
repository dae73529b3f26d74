import { describe, expect, test } from 'vitest';
import { createCoarsePipeline } from '../../src/burn/coarse.ts';
import { planPass } from '../../src/burn/plan.ts';
import { warmFactor } from '../../src/burn/swath.ts';
import { spreadLineRise, woodThermal } from '../../src/physics/heat/heat-sources.ts';
import {
  binWarmthK,
  meanWarmthsK,
  type NearHeat,
  nearHeat,
  passWarmth,
  passWarmthBy,
  type WarmthMap,
} from '../../src/physics/heat/warmth.ts';
import { createPassRaster, findSpans, type ScreenedPass } from '../../src/physics/raster/pass-raster.ts';
import { travelRows } from '../../src/physics/raster/pass-time.ts';
import type { Pass, Piece } from '../../src/piece/schema.ts';
import { burn, flatFilm, pictureOf, plainPiece } from '../helpers/burn.ts';

const PITCH = 0.1;
const pieceOf = (columns: number, pass: Partial<Pass> = {}, heat: Partial<Piece['heat']> = {}): Piece => ({
  ...plainPiece(columns, { rowPitchMm: PITCH, feedMmPerS: 100, lightEndPower: 0.8, rows: 'one-way', ...pass }),
  heat: { carryOver: true, retainedShare: 0.3, ...heat },
});

/** A raster that is lit (level 255) where told. */
function lit(piece: Piece, columns: number, rows: number, at: (c: number, r: number) => boolean): ScreenedPass {
  const raster = createPassRaster(columns * PITCH, rows * PITCH, PITCH, 0);
  const mask = Uint8Array.from({ length: columns * rows }, (_, i) =>
    at(i % columns, Math.floor(i / columns)) ? 255 : 0,
  );
  const levels = new Uint8Array(columns * rows).fill(255);
  const spans = findSpans(levels, mask, columns, rows, () => true, piece.passes[0].rows === 'two-way');
  return { raster, levels, mask, spans };
}
function warmthOf(piece: Piece, screened: ScreenedPass): WarmthMap {
  const { columns, rows } = screened.raster;
  const job = planPass(piece, piece.passes[0], { width: columns, height: rows, pitchMm: PITCH, subX: 1, subY: 3 });
  return passWarmth(piece, 0, job, screened);
}
const meanK = (map: WarmthMap): number => meanWarmthsK([map])[0];
const at = (map: WarmthMap, column: number, row: number) =>
  binWarmthK(map, new Uint8Array(map.nearK.length / map.nearColumns))[
    Math.floor(row / map.rowsPerBin) * map.columns + Math.floor(column / map.dotsPerBin)
  ];

test.each(['one-way', 'two-way'] as const)(
  '%s rows taken in parts are as warm as together, to the last bit',
  async (rows) => {
    const piece = pieceOf(300, { rows });
    // Some rows are not travelled at all.
    const screened = lit(piece, 300, 470, (c, r) => (c * 7 + r * 3) % 11 > 4 && r % 40 > 3);
    const job = planPass(piece, piece.passes[0], { width: 300, height: 470, pitchMm: PITCH, subX: 1, subY: 3 });
    const part = { column: 30, row: 55, endColumn: 210, endRow: 460 };
    for (const asked of [undefined, part]) {
      const begun: [number, number][] = [];
      const warm = async (near: NearHeat) => {
        begun.push([near.fromRow, near.endRow]);
        return nearHeat(structuredClone(near));
      };
      const map = await passWarmthBy({ lanes: 3, warm }, piece, 0, job, screened, asked);
      expect(begun).toHaveLength(3);
      expect(map).toEqual(passWarmth(piece, 0, job, screened, asked));
    }
  },
);

describe('heat from row to row', () => {
  test('is the sum of the line sources of all rows before, row by row', () => {
    const piece = pieceOf(900);
    const screened = lit(piece, 900, 300, () => true);
    const map = warmthOf(piece, screened);
    const ground = woodThermal(piece.slab.wood.densityKgPerM3);
    const middles: number[] = [];
    travelRows(screened.spans, PITCH, piece.passes[0], piece.machine.motion, ({ startS, endS }) => {
      middles.push((startS + endS) / 2);
    });
    const [{ absorptance, thresholdJPerMm2 }] = piece.stack.coats;
    const heatJPerMm = (0.3 * (0.02 / thresholdJPerMm2) * absorptance * 8) / 100;
    // The middle column, far from the ends, at the middles of three bands.
    for (const row of [30, 150, 290]) {
      let sum = 0;
      for (let r = 0; r < row; r++) {
        sum += spreadLineRise(ground, heatJPerMm, 0.1, (row - r) * PITCH, 0, middles[row] - middles[r]);
      }
      // Bands of 20 rows are taken together once they are two bands away.
      expect(Math.abs(at(map, 450, row) / sum - 1)).toBeLessThan(0.03);
    }
    expect(at(map, 450, 5)).toBeLessThan(at(map, 450, 150));
    expect([...map.olderK, ...map.nearK].every((k) => k >= 0 && Number.isFinite(k))).toBe(true);
  });

  test('goes with the power and with the share that stays', () => {
    const screened = lit(pieceOf(300), 300, 120, () => true);
    const full = meanK(warmthOf(pieceOf(300), screened));
    expect(meanK(warmthOf(pieceOf(300, { lightEndPower: 0.4 }), screened)) / full).toBeCloseTo(0.5, 5);
    expect(meanK(warmthOf(pieceOf(300, {}, { retainedShare: 0.6 }), screened)) / full).toBeCloseTo(2, 5);
    expect(full).toBeGreaterThan(10);
  });

  test('short rows come round sooner: narrow parts are warmer than wide ones', () => {
    const piece = pieceOf(1000);
    const narrow = lit(piece, 1000, 200, (c) => c >= 450 && c < 550);
    const wide = lit(piece, 1000, 200, () => true);
    expect(at(warmthOf(piece, narrow), 500, 150)).toBeGreaterThan(1.5 * at(warmthOf(piece, wide), 500, 150));
    // At the ends of two-way rows the beam is back at once.
    const twoWay = pieceOf(1000, { rows: 'two-way' });
    const both = warmthOf(
      twoWay,
      lit(twoWay, 1000, 200, () => true),
    );
    expect(at(both, 15, 150)).toBeGreaterThan(1.03 * at(both, 500, 150));
  });

  test('warm work has a lower threshold, down to a floor', () => {
    expect(warmFactor(0)).toBe(1);
    expect(warmFactor(90)).toBeCloseTo(0.75, 9);
    expect(warmFactor(10000)).toBe(0.1);
  });

  test('the switch shows what it changes: a light disc burns deeper with it, most where rows are short', async () => {
    const disc = pictureOf(120, 120, (x, y) => (Math.hypot(x - 59.5, y - 59.5) < 58 ? 1 : 0));
    const piece = flatFilm(pieceOf(120, { lightEndPower: 0.45, darkEndPower: 0 }));
    const warm = await burn(piece, disc);
    const cold = await burn({ ...piece, heat: { ...piece.heat, carryOver: false } }, disc);
    expect(cold.proof.warmths).toEqual([null]);
    const residue = (fields: typeof warm, x: number, y: number) => fields.residueUm[0][y * 120 + x];
    for (const [x, y] of [
      [60, 60],
      [60, 100],
    ]) {
      expect(residue(warm, x, y)).toBeLessThan(residue(cold, x, y) - 0.3);
    }
    // The first row finds a cold slab either way.
    expect(Math.abs(residue(warm, 60, 1) - residue(cold, 60, 1))).toBeLessThan(1);
  });

  test('the quick look’s estimate is near the proof’s mean', async () => {
    const light = pictureOf(400, 300, () => 0.85);
    for (const more of [{}, { lightEndPower: 0.4, feedMmPerS: 50 }, { rows: 'two-way' as const }]) {
      const piece = pieceOf(400, { screen: 'stucki', ...more });
      const { proof } = await burn(piece, light);
      const [real] = meanWarmthsK(proof.warmths);
      const [likely] = createCoarsePipeline().warmthsK(piece, { key: 'x', picture: light, castless: null });
      // One number for a whole picture: within a quarter.
      expect(Math.abs(likely / real - 1)).toBeLessThan(0.25);
    }
  });
});
