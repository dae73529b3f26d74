import { describe, expect, test } from 'vitest';
import {
  areaMm2,
  boundsMm,
  clockwise,
  middleMm,
  moved,
  type Point,
  type Polygon,
  perimeterMm,
  resampleOutline,
  signedAreaMm2,
  simplifyOutline,
  smoothOutline,
} from '../../src/base/geometry/outline.ts';
import {
  centreOutline,
  checkOutline,
  findCrossing,
  insetOutline,
  isInside,
  nearestOnOutline,
  signedDistanceMm,
  traceBoundary,
} from '../../src/base/geometry/raster-mask.ts';
import { moveHandle } from '../../src/vision/slab/slab-part.ts';
import { wobblyEllipse } from '../helpers/render-slab-photo.ts';

const ellipse = (a: number, b: number, points = 720, at: Point = [0, 0]): Polygon =>
  Array.from({ length: points }, (_, i): Point => {
    const t = (2 * Math.PI * i) / points;
    return [at[0] + a * Math.cos(t), at[1] + b * Math.sin(t)];
  });
const BOX: Polygon = [
  [0, 0],
  [80, 0],
  [80, 40],
  [0, 40],
];
/** Two squares of 40 mm joined by a bridge 6 mm wide. */
const DUMBBELL: Polygon = [
  [0, 0],
  [40, 0],
  [40, 17],
  [60, 17],
  [60, 0],
  [104, 0],
  [104, 40],
  [60, 40],
  [60, 23],
  [40, 23],
  [40, 40],
  [0, 40],
];
const BOW: Polygon = [
  [0, 0],
  [10, 10],
  [10, 0],
  [0, 10],
];

describe('measures', () => {
  test('an ellipse has the area π a b', () => {
    const line = ellipse(150, 120, 720, [900, -400]);
    // A polygon of n points in an ellipse has n/2π sin(2π/n) of its area.
    const share = (720 / (2 * Math.PI)) * Math.sin((2 * Math.PI) / 720);
    expect(areaMm2(line)).toBeCloseTo(Math.PI * 150 * 120 * share, 5);
    expect(share).toBeGreaterThan(0.9999);
    expect(perimeterMm(ellipse(50, 50))).toBeCloseTo(2 * 720 * 50 * Math.sin(Math.PI / 720), 8);
  });

  test('clockwise as seen, y downwards, is positive', () => {
    expect(signedAreaMm2(BOX)).toBe(3200);
    expect(signedAreaMm2([...BOX].reverse())).toBe(-3200);
    expect(signedAreaMm2(clockwise([...BOX].reverse()))).toBe(3200);
  });

  test('the middle of an L is that of the box round it', () => {
    const l: Polygon = [
      [0, 0],
      [30, 0],
      [30, 10],
      [10, 10],
      [10, 30],
      [0, 30],
    ];
    expect(middleMm(l)).toEqual([15, 15]);
    expect(boundsMm(centreOutline([...l].reverse()).outline)).toEqual({ left: -15, top: -15, right: 15, bottom: 15 });
  });
});

describe('crossing', () => {
  test('finds the place, and none in simple outlines', () => {
    expect(findCrossing(BOW)?.at).toEqual([5, 5]);
    expect(findCrossing(BOW)?.edges).toEqual([0, 2]);
    for (const line of [BOX, DUMBBELL, ellipse(150, 120)]) expect(findCrossing(line)).toBeNull();
  });

  test('running back on itself and touching itself count', () => {
    expect(
      findCrossing([
        [0, 0],
        [10, 0],
        [5, 0],
        [5, 10],
      ]),
    ).not.toBeNull();
    expect(
      findCrossing([
        [0, 0],
        [10, 0],
        [10, 10],
        [5, 0],
        [0, 10],
      ]),
    ).not.toBeNull();
    expect(
      findCrossing([
        [0, 0],
        [10, 0],
        [20, 0],
        [20, 10],
        [0, 10],
      ]),
    ).toBeNull();
  });

  test('agrees with looking at every pair, on 200 random polygons', () => {
    let seed = 7;
    const next = (): number => {
      seed = (seed * 1103515245 + 12345) % 2147483648;
      return (seed / 2147483648) * 100;
    };
    const ccw = (a: Point, b: Point, c: Point): boolean =>
      (c[1] - a[1]) * (b[0] - a[0]) > (b[1] - a[1]) * (c[0] - a[0]);
    let crossings = 0;
    for (let k = 0; k < 200; k++) {
      const line = Array.from({ length: 4 + (k % 3) }, (): Point => [next(), next()]);
      const n = line.length;
      let crosses = false;
      for (let i = 0; i < n; i++) {
        for (let j = i + 2; j < n; j++) {
          if (i === 0 && j === n - 1) continue;
          const [a, b, c, d] = [line[i], line[i + 1], line[j], line[(j + 1) % n]];
          if (ccw(a, c, d) !== ccw(b, c, d) && ccw(a, b, c) !== ccw(a, b, d)) crosses = true;
        }
      }
      if (crosses) crossings++;
      expect(findCrossing(line) !== null).toBe(crosses);
    }
    expect(crossings).toBeGreaterThan(40);
    expect(crossings).toBeLessThan(180);
  });

  test('checkOutline refuses with a sentence', () => {
    expect(() => checkOutline(BOW)).toThrow(/crosses itself at 5\.0, 5\.0 mm/);
    expect(() => checkOutline(BOX.slice(0, 2))).toThrow(/three points/);
    expect(() =>
      checkOutline([
        [0, 0],
        [Number.NaN, 0],
        [1, 1],
      ]),
    ).toThrow(/two numbers/);
    expect(() =>
      checkOutline([
        [0, 0],
        [5, 5],
        [9, 9],
      ]),
    ).toThrow(RangeError);
    expect(() => checkOutline(DUMBBELL)).not.toThrow();
  });
});

describe('inside and distance', () => {
  test('distances of a box, greater than zero inside', () => {
    expect(signedDistanceMm(BOX, [30, 12])).toBe(12);
    expect(signedDistanceMm(BOX, [83, 44])).toBe(-5);
    expect(nearestOnOutline(BOX, [20, 3])).toEqual({ signedMm: 3, edge: 0, share: 0.25 });
    expect(isInside(DUMBBELL, [50, 10])).toBe(false);
    expect(isInside(DUMBBELL, [50, 20])).toBe(true);
  });
});

describe('inset', () => {
  test.each([0.5, 8, -6])('a circle drawn in by %d mm is a circle', (inset) => {
    const line = insetOutline(ellipse(100, 100), inset);
    for (const [x, y] of resampleOutline(line, 1)) expect(Math.abs(Math.hypot(x, y) - 100 + inset)).toBeLessThan(0.03);
    expect(signedAreaMm2(line)).toBeGreaterThan(0);
  });

  test('every place of the new line is as far from a wavering outline as was asked', () => {
    const line = wobblyEllipse(142, 112);
    for (const place of resampleOutline(insetOutline(line, 6.5), 0.7)) {
      expect(Math.abs(signedDistanceMm(line, place) - 6.5)).toBeLessThan(0.03);
    }
  });

  test('a box keeps its shape but for a cell at the corners', () => {
    const line = insetOutline(BOX, 10);
    const { left, top, right, bottom } = boundsMm(line);
    for (const [value, wanted] of [
      [left, 10],
      [top, 10],
      [right, 70],
      [bottom, 30],
    ])
      expect(value).toBeCloseTo(wanted, 1);
    expect(Math.abs(areaMm2(line) - 1200)).toBeLessThan(1);
  });

  test('where the outline falls apart the larger part stays, without loops', () => {
    const line = insetOutline(DUMBBELL, 5);
    expect(findCrossing(line)).toBeNull();
    const { left, right } = boundsMm(line);
    // The corners of the bridge are 3 mm off its middle: 5 mm from them is 4 mm further on.
    // That tip is a corner of the new line, which may be cut by a cell of the grid.
    expect(Math.abs(left - 64)).toBeLessThan(104 / 360);
    expect(right).toBeCloseTo(99, 1);
    // Joined while the inset is less than half the bridge.
    expect(boundsMm(insetOutline(DUMBBELL, 2)).left).toBeCloseTo(2, 1);
  });

  test('an inset of its own per point: from 2 mm on one side to 8 on the other', () => {
    const circle = ellipse(100, 100);
    const insets = circle.map(([x]) => 5 + (3 * x) / 100);
    const line = insetOutline(circle, insets);
    const { left, right } = boundsMm(line);
    expect(left).toBeCloseTo(-98, 1);
    expect(right).toBeCloseTo(92, 1);
  });

  test('refuses when nothing is left', () => {
    expect(() => insetOutline(BOX, 21)).toThrow(/nothing of the slab is left/);
    expect(() => insetOutline(BOX, [1, 2])).toThrow(/4 points cannot take 2 insets/);
    expect(() => insetOutline(BOX, Number.NaN)).toThrow(RangeError);
  });
});

describe('handles, smoothing, thinning out', () => {
  test('neighbours follow softly and the rest stays', () => {
    const line = ellipse(100, 100, 360);
    const { outline, crossing } = moveHandle(line, 0, { dxMm: 10, dyMm: 0, reachMm: 20 });
    expect(crossing).toBeNull();
    expect(outline[0][0]).toBeCloseTo(110, 10);
    // 1° is 1.745 mm of the line: cos² (π s / 2 reach) of the move, the same either way.
    const s = 200 * Math.sin(Math.PI / 360) * 6;
    const follow = (1 + Math.cos((Math.PI * s) / 20)) / 2;
    for (const i of [6, 354]) expect(outline[i][0] - line[i][0]).toBeCloseTo(10 * follow, 6);
    expect(outline.slice(12, 349)).toEqual(line.slice(12, 349));
    const alone = moveHandle(line, 5, { dxMm: 1, dyMm: 2, reachMm: 0 }).outline;
    expect(alone.filter((point, i) => point[0] !== line[i][0])).toHaveLength(1);
  });

  test('a handle dragged through the other side is told', () => {
    expect(moveHandle(BOX, 0, { dxMm: 100, dyMm: 20, reachMm: 0 }).crossing).not.toBeNull();
    expect(() => moveHandle(BOX, 4, { dxMm: 1, dyMm: 1, reachMm: 0 })).toThrow(/no point 4/);
    expect(() => moveHandle(BOX, 0, { dxMm: Number.NaN, dyMm: 1, reachMm: 0 })).toThrow(RangeError);
  });

  test('thinning out keeps within its tolerance, and drops most of a smooth line', () => {
    const line = ellipse(150, 120);
    const thin = simplifyOutline(line, 0.1);
    // The fewest chords within 0.1 mm of a line bent with about 135 mm: 850 / 10.4; halving takes at most twice as many.
    expect(thin.length).toBeLessThan(164);
    for (const point of line) expect(Math.abs(signedDistanceMm(thin, point))).toBeLessThan(0.1 + 1e-9);
    expect(simplifyOutline(resampleOutline(BOX, 1), 0.01)).toHaveLength(4);
  });

  test('smoothing takes jitter off and moves a circle in by σ² / 2R', () => {
    const rough = ellipse(50, 50, 1440).map(
      ([x, y], i): Point => [x * (1 + 0.01 * (-1) ** i), y * (1 + 0.01 * (-1) ** i)],
    );
    for (const [x, y] of smoothOutline(rough, 3)) expect(Math.abs(Math.hypot(x, y) - (50 - 9 / 100))).toBeLessThan(0.1);
    for (const [x, y] of smoothOutline(ellipse(50, 50), 3))
      expect(Math.abs(Math.hypot(x, y) - (50 - 9 / 100))).toBeLessThan(0.005);
    expect(smoothOutline(BOX, 0)).toBe(BOX);
  });

  test('even steps: distances equal, perimeter kept, first point first', () => {
    const line = resampleOutline(BOX, 7);
    expect(line).toHaveLength(34);
    expect(line[0]).toEqual([0, 0]);
    expect(line[17]).toEqual([80, 40]);
    expect(moved(line, 1, -1)[17]).toEqual([81, 39]);
  });
});

test('a traced line passes where the field takes the level', () => {
  // A slope: the field is the distance inside a circle of radius 12.3 cells.
  const side = 40;
  const field = Float64Array.from(
    { length: side * side },
    (_, i) => 12.3 - Math.hypot((i % side) + 0.5 - 20, Math.floor(i / side) + 0.5 - 19),
  );
  const line = traceBoundary(
    Uint8Array.from(field, (value) => (value > 0 ? 1 : 0)),
    field,
    side,
    side,
    0,
  );
  for (const [x, y] of line) expect(Math.abs(Math.hypot(x - 20, y - 19) - 12.3)).toBeLessThan(0.06);
  expect(signedAreaMm2(line)).toBeGreaterThan(0);
  expect(findCrossing(simplifyOutline(line, 0.1))).toBeNull();
});
