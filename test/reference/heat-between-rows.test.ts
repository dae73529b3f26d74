import { describe, expect, test } from 'vitest';
import { degToRad } from '../../src/base/units.ts';
import { planPass } from '../../src/burn/plan.ts';
import { warmthAt } from '../../src/burn/swath.ts';
import { woodThermal } from '../../src/physics/heat/heat-sources.ts';
import { passWarmth } from '../../src/physics/heat/warmth.ts';
import { createPassRaster, findSpans, type RowSpans } from '../../src/physics/raster/pass-raster.ts';
import { feedOf, travelRows } from '../../src/physics/raster/pass-time.ts';
import type { Piece } from '../../src/piece/schema.ts';
import { burn, flatFilm, pictureOf, plainPiece } from '../helpers/burn.ts';

/** Error function by its Taylor series (DLMF 7.6.1). */
function erf(x: number): number {
  if (Math.abs(x) > 5) return Math.sign(x);
  let term = x;
  let sum = x;
  for (let n = 1; n < 200; n++) {
    term *= (-x * x) / n;
    sum += term / (2 * n + 1);
  }
  return (2 / Math.sqrt(Math.PI)) * sum;
}

/**
 * What a row of a solid picture of any outline finds at dot u: the plain sum over all rows before it, each a line of finite length laid at once on a
 * half-space by a Gaussian beam (Carslaw and Jaeger, Conduction of Heat in Solids, 2nd ed. 1959, §10.3, integrated along the row; value
 * from memory). Shares no code with the maps.
 */
function plainSum(piece: Piece, spans: RowSpans, watts: number) {
  const [pass] = piece.passes;
  const pitch = pass.rowPitchMm;
  const feed = feedOf(pass, piece.machine.motion);
  const middleS: number[] = [];
  travelRows(spans, pitch, pass, piece.machine.motion, ({ row, startS, endS }) => {
    middleS[row] = (startS + endS) / 2;
  });
  const when = (row: number, u: number) =>
    middleS[row] +
    ((spans.backwards[row] === 1 ? -1 : 1) * (u - (spans.first[row] + spans.end[row]) / 2) * pitch) / feed;
  const { conductivityWPerMmK: k, diffusivityMm2PerS: kappa } = woodThermal(piece.slab.wood.densityKgPerM3);
  const [{ absorptance, thresholdJPerMm2 }] = piece.stack.coats;
  // Of the watts that the name plate names as many arrive as heat as the threshold asks for more than its 0.02 J/mm² of heat.
  const heat = (piece.heat.retainedShare * (0.02 / thresholdJPerMm2) * absorptance * watts) / feed;
  const { spotAcrossMm, spotAlongMm } = piece.machine.source;
  return (row: number, u: number): number => {
    let sum = 0;
    for (let r = 0; r < row; r++) {
      if (spans.end[r] === spans.first[r]) continue;
      // No heat counts as younger than a dwell of the beam.
      const age = Math.max((2 * spotAlongMm) / feed, when(row, u) - when(r, u));
      const reach = Math.sqrt(4 * kappa * age);
      const inside = 0.5 * (erf(((spans.end[r] - u) * pitch) / reach) + erf(((u - spans.first[r]) * pitch) / reach));
      const variance = 2 * kappa * age + spotAcrossMm ** 2 / 4;
      const across = Math.exp(-(((row - r) * pitch) ** 2) / (2 * variance)) / Math.sqrt(2 * Math.PI * variance);
      sum += (((heat * kappa) / k) * inside * across) / Math.sqrt(Math.PI * kappa * age);
    }
    return sum;
  };
}

describe('heat between rows against the plain sum over all of them', () => {
  // Rows in 2 mm: 20, 25, 23.5, 10: even and odd, so that no direction is met more often.
  test.each([
    [0.1, 200, 'two-way'],
    [0.08, 200, 'two-way'],
    [0.085, 60, 'two-way'],
    [0.2, 100, 'two-way'],
    [0.1, 20, 'two-way'],
    [0.08, 20, 'one-way'],
    [0.085, 250, 'one-way'],
  ] as const)('rows %d mm apart, %d mm wide, %s', (pitch, widthMm, rows) => {
    const columns = Math.round(widthMm / pitch);
    const count = Math.round(30 / pitch);
    const piece: Piece = {
      ...plainPiece(columns, { rowPitchMm: pitch, feedMmPerS: 116.7, lightEndPower: 0.6, rows }),
      heat: { carryOver: true, retainedShare: 0.3 },
    };
    const raster = createPassRaster(columns * pitch, count * pitch, pitch, 0);
    const mask = new Uint8Array(columns * count).fill(255);
    const spans = findSpans(mask, mask, columns, count, () => true, rows === 'two-way');
    const grid = { width: columns, height: count, pitchMm: pitch, subX: 1, subY: 3 };
    const job = planPass(piece, piece.passes[0], grid);
    const map = passWarmth(piece, 0, job, { raster, levels: mask, mask, spans });
    const truth = plainSum(piece, spans, job.wattsAt[255]);
    let squares = 0;
    let total = 0;
    let n = 0;
    let worst = 0;
    for (let row = 0; row < count; row += 7) {
      for (let i = 0; i < 24; i++) {
        const u = Math.max(0.8 / pitch, Math.min(columns - 0.8 / pitch, ((i + 0.5) * columns) / 24));
        const expected = truth(row, u);
        const off = warmthAt(map, u, row + 0.5, row, spans.backwards[row]) - expected;
        squares += off * off;
        total += expected;
        worst = Math.max(worst, Math.abs(off));
        n++;
      }
    }
    // A hundredth of the mean; 4 K are a hundredth of a threshold. Nearer than 0.8 mm to a row's end bins of 0.7 mm are too wide.
    expect(Math.sqrt(squares / n)).toBeLessThan(0.015 * (total / n) + 0.1);
    expect(worst).toBeLessThan(0.05 * (total / n) + 1);
  });

  // Rows of a turned pass begin and end on the slanting sides of the picture, each elsewhere.
  test.each([
    [90, 40, 24, 'two-way'],
    [30, 40, 30, 'two-way'],
    [137, 36, 28, 'one-way'],
    [205, 50, 20, 'two-way'],
  ] as const)('a pass at %d° over %d × %d mm, %s', (degrees, widthMm, heightMm, rows) => {
    const pitch = 0.1;
    const piece: Piece = {
      ...plainPiece(Math.round(widthMm / pitch), {
        rowPitchMm: pitch,
        feedMmPerS: 116.7,
        lightEndPower: 0.6,
        rows,
        headingRad: degToRad(degrees),
      }),
      heat: { carryOver: true, retainedShare: 0.3 },
    };
    const raster = createPassRaster(widthMm, heightMm, pitch, degToRad(degrees));
    const { columns, rows: count, column, row } = raster;
    const determinant = column[1] * row[2] - column[2] * row[1];
    const mask = Uint8Array.from({ length: columns * count }, (_, i) => {
      const [u, v] = [(i % columns) + 0.5 - column[0], Math.floor(i / columns) + 0.5 - row[0]];
      const x = (u * row[2] - v * column[2]) / determinant;
      const y = (v * column[1] - u * row[1]) / determinant;
      return x >= 0 && y >= 0 && x < widthMm && y < heightMm ? 255 : 0;
    });
    const levels = new Uint8Array(columns * count).fill(255);
    const spans = findSpans(levels, mask, columns, count, () => true, rows === 'two-way');
    const job = planPass(piece, piece.passes[0], {
      width: Math.round(widthMm / pitch),
      height: Math.round(heightMm / pitch),
      pitchMm: pitch,
      subX: 1,
      subY: 3,
    });
    const map = passWarmth(piece, 0, job, { raster, levels, mask, spans });
    const truth = plainSum(piece, spans, job.wattsAt[255]);
    const [offs, expected]: [number[], number[]] = [[], []];
    for (let r = 3; r < count; r += 7) {
      const [first, end] = [spans.first[r] + 10, spans.end[r] - 10];
      for (let i = 0; i < 12 && end > first; i++) {
        const u = first + ((i + 0.5) * (end - first)) / 12;
        expected.push(truth(r, u));
        offs.push(warmthAt(map, u, r + 0.5, r, spans.backwards[r]) - expected[expected.length - 1]);
      }
    }
    const mean = expected.reduce((sum, value) => sum + value, 0) / expected.length;
    console.log(
      degrees,
      Math.sqrt(offs.reduce((sum, off) => sum + off * off, 0) / offs.length),
      mean,
      Math.max(...offs.map(Math.abs)),
      Math.max(...expected),
    );
    expect(mean).toBeGreaterThan(5);
    expect(Math.sqrt(offs.reduce((sum, off) => sum + off * off, 0) / offs.length)).toBeLessThan(0.03 * mean + 0.1);
  });

  test.each([
    [0.1, 120, 0.42],
    [0.08, 150, 0.34],
  ])('even white under rows %d mm apart clears alike at both ends of the rows', async (pitch, size, power) => {
    const piece = flatFilm({
      ...plainPiece(size, { rowPitchMm: pitch, lightEndPower: power, darkEndPower: 0, rows: 'two-way' }),
      heat: { carryOver: true, retainedShare: 0.3 },
    });
    const { residueUm } = await burn(
      piece,
      pictureOf(size, size, () => 1),
    );
    const mean = (from: number, end: number) => {
      let sum = 0;
      for (let y = size >> 1; y < size - 10; y++) for (let x = from; x < end; x++) sum += residueUm[0][y * size + x];
      return sum / (end - from) / (size - 10 - (size >> 1));
    };
    const [left, right] = [mean(8, 24), mean(size - 24, size - 8)];
    expect(Math.abs(left - right)).toBeLessThan(0.1);
    expect(mean(size / 2 - 8, size / 2 + 8)).toBeGreaterThan(0.2);
  });
});

test('passes that share their levels and burn other places each have their own heat', () => {
  const [columns, rows] = [300, 100];
  const piece: Piece = {
    ...plainPiece(columns, { rowPitchMm: 0.1, lightEndPower: 0.6 }),
    heat: { carryOver: true, retainedShare: 0.3 },
  };
  const raster = createPassRaster(30, 10, 0.1, 0);
  const levels = new Uint8Array(columns * rows).fill(255);
  const job = planPass(piece, piece.passes[0], { width: columns, height: rows, pitchMm: 0.1, subX: 1, subY: 3 });
  const half = (upper: boolean) => {
    const mask = Uint8Array.from(levels, (_, i) => (i < levels.length / 2 === upper ? 255 : 0));
    return passWarmth(piece, 0, job, {
      raster,
      levels,
      mask,
      spans: findSpans(levels, mask, columns, rows, () => true, true),
    });
  };
  const mean = (values: Float32Array) => values.reduce((sum, value) => sum + value, 0) / values.length;
  const [upper, lower] = [half(true), half(false)];
  const last = (map: typeof upper) => mean(map.nearK.subarray(map.nearK.length - 4 * map.nearColumns));
  expect(mean(upper.nearK)).toBeGreaterThan(1);
  expect(Number.isFinite(mean(lower.nearK))).toBe(true);
  expect(last(lower)).toBeGreaterThan(1);
  expect(last(upper)).toBe(0);
});
