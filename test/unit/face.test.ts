import { describe, expect, test } from 'vitest';
import { outsideMask } from '../../src/burn/prepare.ts';
import { createFace } from '../../src/physics/raster/face.ts';
import { DEFAULT_SLAB } from '../../src/piece/defaults.ts';
import type { Slab } from '../../src/piece/schema.ts';
import { plainPiece } from '../helpers/burn.ts';

const oval: Slab = { ...DEFAULT_SLAB, shape: 'oval', widthMm: 120, heightMm: 80 };
const ring = (count: number): [number, number][] =>
  Array.from({ length: count }, (_, i) => {
    const turn = (2 * Math.PI * i) / count;
    return [60 * Math.cos(turn), 40 * Math.sin(turn)];
  });
const outline: Slab = { ...oval, shape: 'outline', outlineMm: ring(360) };

describe('the face of a slab', () => {
  test('an outline drawn as an oval is that oval, in spans and in distance from its rim', () => {
    const [free, told] = [createFace(outline), createFace(oval)];
    for (const y of [-39, -12.3, 0, 25, 41]) {
      const spans = told.spans(y);
      const found = free.spans(y);
      expect(found).toHaveLength(spans.length);
      found.forEach((x, i) => {
        expect(Math.abs(x - spans[i])).toBeLessThan(0.06);
      });
    }
    for (const [x, y] of [
      [55, 0],
      [0, 30],
      [0, -38],
      [-62, 0],
    ]) {
      expect(Math.abs(free.rimDistanceMm(x, y) - told.rimDistanceMm(x, y))).toBeLessThan(0.15);
    }
    expect(free.rimDistanceMm(0, 0)).toBeCloseTo(40, 0);
    expect(free.rimDistanceMm(-70, 0)).toBeLessThan(0);
  });

  test('a bay in an outline is outside: a line crosses it in two stretches', () => {
    const bay: [number, number][] = [
      [-50, -30],
      [50, -30],
      [50, 30],
      [10, 30],
      [10, -10],
      [-10, -10],
      [-10, 30],
      [-50, 30],
    ];
    const face = createFace({ ...outline, outlineMm: bay });
    expect(face.spans(0)).toEqual([-50, -10, 10, 50]);
    expect(face.spans(-20)).toEqual([-50, 50]);
    expect(face.rimDistanceMm(0, 10)).toBeCloseTo(-10, 6);
    const piece = plainPiece(100, { rowPitchMm: 1 });
    const burned = { ...piece, slab: { ...outline, outlineMm: bay } };
    const mask = outsideMask(burned, { width: 100, height: 60 }, 100, 60, 1);
    const row = (y: number) => [...mask.subarray(y * 100, (y + 1) * 100)];
    expect(row(5).filter((v) => v > 0)).toHaveLength(100);
    expect(row(45).filter((v) => v > 0)).toHaveLength(80);
    expect(row(45)[50]).toBe(0);
  });
});
