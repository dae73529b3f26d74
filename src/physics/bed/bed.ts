import type { Point } from '../../base/geometry/point.ts';
import type { Placement } from '../../piece/schema.ts';

/**
 * Places on the slab (from its centre, y growing downwards) as places on the bed (from its near left corner, y growing away from the
 * maker), mm.
 */
export function slabToBed({ xMm, yMm, turnRad }: Placement, [x, y]: Point): [number, number] {
  const cosine = Math.cos(turnRad);
  const sine = Math.sin(turnRad);
  return [xMm + x * cosine + y * sine, yMm + x * sine - y * cosine];
}

export interface Registration {
  readonly xMm: number;
  readonly yMm: number;
  readonly turnRad: number;
  /** How much farther apart the marks are on the bed than on the slab. */
  readonly mismatchMm: number;
}

/**
 * Where the slab lies, from two marks on it and where the machine finds them: turn and shift, no scale. What does not fit is shared
 * between both marks.
 * @throws RangeError if two marks are at one place.
 */
export function registerMarks(slab: readonly [Point, Point], bed: readonly [Point, Point]): Registration {
  const across = (points: readonly [Point, Point], flip: number): [number, number] => [
    points[1][0] - points[0][0],
    flip * (points[1][1] - points[0][1]),
  ];
  const [sx, sy] = across(slab, -1);
  const [bx, by] = across(bed, 1);
  const slabLength = Math.hypot(sx, sy);
  const bedLength = Math.hypot(bx, by);
  if (slabLength < 1e-6 || bedLength < 1e-6)
    throw new RangeError('two marks at one place do not tell how the slab is turned');
  const turnRad = Math.atan2(sx * by - sy * bx, sx * bx + sy * by);
  const middle = (points: readonly [Point, Point]): [number, number] => [
    (points[0][0] + points[1][0]) / 2,
    (points[0][1] + points[1][1]) / 2,
  ];
  const cosine = Math.cos(turnRad);
  const sine = Math.sin(turnRad);
  const [mx, my] = middle(slab);
  const [ox, oy] = middle(bed);
  return {
    xMm: ox - (mx * cosine + my * sine),
    yMm: oy - (mx * sine - my * cosine),
    turnRad,
    mismatchMm: bedLength - slabLength,
  };
}
