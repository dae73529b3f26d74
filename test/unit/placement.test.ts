import { describe, expect, test } from 'vitest';
import {
  picturePerimeter,
  placementWarnings,
  registerMarks,
  slabPerimeter,
  slabToBed,
} from '../../src/physics/bed/bed.ts';
import { createPiece, DEFAULT_PLACEMENT } from '../../src/piece/defaults.ts';

type Point = readonly [number, number];
const area = (points: readonly Point[]): number =>
  Math.abs(
    points.reduce((sum, [x, y], i) => {
      const [nextX, nextY] = points[(i + 1) % points.length];
      return sum + x * nextY - nextX * y;
    }, 0) / 2,
  );
const photo = { width: 300, height: 200 };

describe('the slab on the bed', () => {
  test('far on the slab is far on the bed, and a quarter turn brings its right end away from the maker', () => {
    expect(slabToBed(DEFAULT_PLACEMENT, [10, -20])).toEqual([210, 220]);
    const [x, y] = slabToBed({ ...DEFAULT_PLACEMENT, turnRad: Math.PI / 2 }, [10, 0]);
    expect([x, y].map((value) => Math.round(1e9 * value) / 1e9)).toEqual([200, 210]);
  });

  test('two marks tell where it lies, and how badly they fit', () => {
    const truth = { ...DEFAULT_PLACEMENT, xMm: 163.2, yMm: 88.7, turnRad: -2.3 };
    const marks: [Point, Point] = [
      [-80, 33],
      [64, -51],
    ];
    const found = registerMarks(marks, [slabToBed(truth, marks[0]), slabToBed(truth, marks[1])]);
    expect(found.xMm).toBeCloseTo(163.2, 9);
    expect(found.yMm).toBeCloseTo(88.7, 9);
    expect(found.turnRad).toBeCloseTo(-2.3, 9);
    expect(found.mismatchMm).toBeCloseTo(0, 9);
    // A mark measured a millimetre too far along their line: half of it goes to either.
    const [bx, by] = slabToBed({ ...DEFAULT_PLACEMENT, turnRad: 0 }, [50, 0]);
    const off = registerMarks(
      [
        [-50, 0],
        [50, 0],
      ],
      [slabToBed(DEFAULT_PLACEMENT, [-50, 0]), [bx + 1, by]],
    );
    expect(off.mismatchMm).toBeCloseTo(1, 9);
    expect(off.xMm).toBeCloseTo(200.5, 9);
    expect(() =>
      registerMarks(
        [
          [1, 1],
          [1, 1],
        ],
        [
          [0, 0],
          [5, 5],
        ],
      ),
    ).toThrow('two marks at one place');
  });
});

describe('the perimeter walk', () => {
  test('follows the rim and, separately, the picture’s edge', () => {
    const { slab, picture } = createPiece('', '');
    expect(area(slabPerimeter(slab)) / (Math.PI * 150 * 120)).toBeCloseTo(1, 3);
    expect(slabPerimeter({ ...slab, shape: 'rectangle' })).toHaveLength(4);
    const turned = picturePerimeter(
      slab,
      { ...picture, crop: 'rectangle', widthMm: 60, rotationRad: 0.7, offsetXMm: 9 },
      photo,
    );
    expect(area(turned)).toBeCloseTo(2400, 6);
    expect(turned.reduce((sum, [x]) => sum + x, 0) / 4).toBeCloseTo(9, 9);
    const oval = picturePerimeter(slab, { ...picture, crop: 'oval', widthMm: 60 }, photo);
    expect(area(oval) / (Math.PI * 30 * 20)).toBeCloseTo(1, 2);
    // Turned counter-clockwise, its right end goes up, away from the maker.
    const quarter = picturePerimeter(slab, { ...picture, crop: 'rectangle', widthMm: 60, rotationRad: 0.3 }, photo);
    expect(quarter[1][1]).toBeLessThan(quarter[0][1]);
  });

  test('warns of what does not fit on the bed, with how far', () => {
    const piece = createPiece('', '');
    expect(placementWarnings(piece, photo)).toEqual([]);
    const near = { ...piece, placement: { ...piece.placement, xMm: 152 } };
    expect(placementWarnings(near, photo)[0]).toBe(
      'The slab with 5 mm of clearance reaches 3 mm beyond the bed; move or turn it.',
    );
    const long = { ...piece, machine: { ...piece.machine, motion: { ...piece.machine.motion, runUpMm: 80 } } };
    expect(placementWarnings(long, photo)).toHaveLength(1);
    expect(placementWarnings(long, photo)[0]).toContain('run-ups of 80 mm');
  });
});
