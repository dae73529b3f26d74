import { expect, test } from 'vitest';
import type { Point } from '../../src/base/geometry/outline.ts';
import { createGenerator } from '../../src/base/random/generator.ts';
import { slabPerimeter, slabToBed } from '../../src/physics/bed/bed.ts';
import { createPiece } from '../../src/piece/defaults.ts';
import type { Piece } from '../../src/piece/schema.ts';
import { laidPiece, layOnBed, slabToLay } from '../../src/shop/bed.ts';

const base = createPiece('Landing', 'landing.jpg');
const PHOTO = { width: 400, height: 300 };

/** A rim with bays and bumps, turning round its middle. */
function rim(unit: () => number, a: number, b: number): Point[] {
  const waves = Array.from({ length: 4 }, () => [unit() * 0.25, unit() * 2 * Math.PI]);
  return Array.from({ length: 60 }, (_, i): Point => {
    const turn = (2 * Math.PI * i) / 60;
    const far = waves.reduce((sum, [share, phase], k) => sum + share * Math.sin((k + 2) * turn + phase), 1);
    return [a * far * Math.cos(turn), b * far * Math.sin(turn)];
  });
}

function piecesOf(seed: number): Piece[] {
  const { nextUnit: unit } = createGenerator(seed);
  return Array.from({ length: 2 + Math.floor(unit() * 7) }, (): Piece => {
    const [widthMm, heightMm] = [30 + unit() * 150, 30 + unit() * 100];
    const shape = (['oval', 'rectangle', 'outline'] as const)[Math.floor(unit() * 3)];
    return {
      ...base,
      slab: {
        ...base.slab,
        shape,
        widthMm,
        heightMm,
        outlineMm: [...rim(unit, widthMm / 2.4, heightMm / 2.4)] as [number, number][],
      },
      picture: { ...base.picture, widthMm: 0.8 * widthMm, offsetXMm: 8 * (unit() - 0.5) },
      passes: [{ ...base.passes[0], headingRad: unit() * Math.PI }],
      placement: { ...base.placement, clearanceMm: Math.floor(unit() * 8) },
      order: { ...base.order, quantity: 1 + Math.floor(unit() * 3) },
    };
  });
}

/** Distance of two stretches. */
function apart([a, b]: readonly [Point, Point], [c, d]: readonly [Point, Point]): number {
  const side = ([px, py]: Point, [qx, qy]: Point, [x, y]: Point) => (qx - px) * (y - py) - (qy - py) * (x - px);
  if (side(a, b, c) * side(a, b, d) < 0 && side(c, d, a) * side(c, d, b) < 0) return 0;
  const from = ([x, y]: Point, [px, py]: Point, [qx, qy]: Point) => {
    const length = (qx - px) ** 2 + (qy - py) ** 2 || 1;
    const share = Math.min(1, Math.max(0, ((x - px) * (qx - px) + (y - py) * (qy - py)) / length));
    return Math.hypot(x - px - share * (qx - px), y - py - share * (qy - py));
  };
  return Math.min(from(a, c, d), from(b, c, d), from(c, a, b), from(d, a, b));
}

const edges = (points: readonly Point[]) => points.map((point, i) => [point, points[(i + 1) % points.length]] as const);

const inside = ([x, y]: Point, points: readonly Point[]): boolean =>
  edges(points).filter(([[ax, ay], [bx, by]]) => ay > y !== by > y && x < ax + ((y - ay) / (by - ay)) * (bx - ax))
    .length %
    2 ===
  1;

test('slabs never overlap, keep their clearance, and never leave the bed', () => {
  let turned = 0;
  let beds = 0;
  for (let seed = 1; seed <= 8; seed++) {
    const pieces = piecesOf(seed);
    const bed = { widthMm: 260 + (seed % 5) * 40, heightMm: 200 + (seed % 3) * 90 };
    const { beds: laid, left } = layOnBed(
      pieces.map((piece, i) => slabToLay(String(i), piece, PHOTO)),
      bed,
    );
    const counts = pieces.map((_, i) => laid.flat().filter(({ id }) => id === String(i)).length);
    for (const [i, piece] of pieces.entries())
      if (!left.includes(String(i))) expect(counts[i]).toBe(piece.order.quantity);
    for (const on of laid) {
      beds++;
      const rims = on.map((one) => {
        const piece = laidPiece(pieces[Number(one.id)], one, bed);
        const { clearanceMm } = piece.placement;
        const points = slabPerimeter(piece.slab).map((point) => slabToBed(piece.placement, point));
        const within = points.map(([x, y]) => Math.min(x, y, bed.widthMm - x, bed.heightMm - y));
        expect(Math.min(...within)).toBeGreaterThanOrEqual(clearanceMm - 1e-5);
        if (one.turnRad !== 0) turned++;
        return { points, clearanceMm };
      });
      for (const [i, a] of rims.entries()) {
        for (const b of rims.slice(i + 1)) {
          let least = Number.POSITIVE_INFINITY;
          for (const one of edges(a.points))
            for (const other of edges(b.points)) least = Math.min(least, apart(one, other));
          expect(least).toBeGreaterThanOrEqual(Math.max(a.clearanceMm, b.clearanceMm) - 1e-6);
          expect(inside(a.points[0], b.points) || inside(b.points[0], a.points)).toBe(false);
        }
      }
    }
  }
  expect(turned).toBeGreaterThan(1);
  expect(beds).toBeGreaterThan(8);
});

test('four alike lie in two rows, a fifth on the next bed, one that is too large nowhere', () => {
  const plain = (widthMm: number, heightMm: number, quantity: number): Piece => ({
    ...base,
    slab: { ...base.slab, shape: 'rectangle', widthMm, heightMm },
    picture: { ...base.picture, widthMm: 60 },
    placement: { ...base.placement, clearanceMm: 5 },
    order: { ...base.order, quantity },
  });
  const { beds, left } = layOnBed(
    [slabToLay('alike', plain(90, 90, 5), PHOTO), slabToLay('large', plain(250, 250, 1), PHOTO)],
    { widthMm: 200, heightMm: 200 },
  );
  expect(beds.map((laid) => laid.map(({ xMm, yMm }) => [xMm, yMm]))).toEqual([
    [
      [50, 50],
      [145, 50],
      [50, 145],
      [145, 145],
    ],
    [[50, 50]],
  ]);
  expect(left).toEqual(['large']);
});
