import type { Homography } from '../../base/geometry/homography.ts';
import { applyHomography, fitHomography } from '../../base/geometry/homography.ts';
import type { Point } from '../../base/geometry/point.ts';

/**
 * Radial distortion of a lens by the division model with one term: a straight line's image at p lies, without the lens's fault,
 * at c + (p − c) / (1 + k1 r²), r = |p − c| over half the photo's diagonal. k1 < 0 is a barrel, > 0 a cushion.
 * Source: A. W. Fitzgibbon, "Simultaneous linear estimation of multiple view geometry and lens distortion", CVPR 2001, eq. 3.
 * Test: test/unit/slab-homography.test.ts.
 */
export interface Lens {
  /** Middle of the distortion and the unit of r, photo pixels. */
  readonly centre: Point;
  readonly radiusPx: number;
  /** −0.5 … 0.5; 0: none. */
  readonly k1: number;
}

/** The lens of a photo whose distortion is about its middle. */
export const lensOfPhoto = (photo: { width: number; height: number }, k1 = 0): Lens => ({
  centre: [photo.width / 2, photo.height / 2],
  radiusPx: Math.hypot(photo.width, photo.height) / 2,
  k1,
});

/** From the photo's pixel to where a faultless lens would have put it. */
export function straighten(lens: Lens, point: Point): Point {
  const x = (point[0] - lens.centre[0]) / lens.radiusPx;
  const y = (point[1] - lens.centre[1]) / lens.radiusPx;
  const scale = lens.radiusPx / (1 + lens.k1 * (x * x + y * y));
  return [lens.centre[0] + scale * x, lens.centre[1] + scale * y];
}

/**
 * The way back, in closed form: r = 2 s / (1 + √(1 − 4 k1 s²)) for the straightened distance s.
 * Null where a cushion lens shows nothing (4 k1 s² > 1).
 */
export function bend(lens: Lens, point: Point): Point | null {
  const x = (point[0] - lens.centre[0]) / lens.radiusPx;
  const y = (point[1] - lens.centre[1]) / lens.radiusPx;
  const under = 1 - 4 * lens.k1 * (x * x + y * y);
  if (under < 0) return null;
  const scale = (2 * lens.radiusPx) / (1 + Math.sqrt(under));
  return [lens.centre[0] + scale * x, lens.centre[1] + scale * y];
}

const GOLDEN = (Math.sqrt(5) - 1) / 2;
const LARGEST = 0.5;

/**
 * Finds k1 together with the projective map, from pairs (photo pixel → mm): the k1 whose map leaves the least squares of
 * distance in mm, by a coarse search from −0.5 to 0.5 and golden section in the best interval. Six or more pairs spread to the
 * photo's corners tell it well; pairs near the middle do not.
 * @throws RangeError for fewer than five pairs (four fit any k1), or as `fitHomography` does.
 */
export function fitLens(photo: { width: number; height: number }, from: readonly Point[], to: readonly Point[]) {
  if (from.length < 5) throw new RangeError(`lens distortion needs at least five points, got ${from.length}`);
  const at = (k1: number): LensFit => {
    const lens = lensOfPhoto(photo, k1);
    const straight = from.map((point) => straighten(lens, point));
    const map = fitHomography(straight, to);
    const squares = straight.reduce((sum, point, i) => {
      const hit = applyHomography(map, point);
      return hit ? sum + (hit[0] - to[i][0]) ** 2 + (hit[1] - to[i][1]) ** 2 : Number.POSITIVE_INFINITY;
    }, 0);
    return { lens, map, residualMm: Math.sqrt(squares / from.length) };
  };
  const step = LARGEST / 10;
  let best = at(0);
  for (let k1 = -LARGEST; k1 <= LARGEST + 1e-9; k1 += step) {
    const fit = at(k1);
    if (fit.residualMm < best.residualMm) best = fit;
  }
  let low = best.lens.k1 - step;
  let high = best.lens.k1 + step;
  while (high - low > 1e-7) {
    const left = high - GOLDEN * (high - low);
    const right = low + GOLDEN * (high - low);
    if (at(left).residualMm < at(right).residualMm) high = right;
    else low = left;
  }
  return at((low + high) / 2);
}

export interface LensFit {
  readonly lens: Lens;
  /** Straightened photo pixels → mm. */
  readonly map: Homography;
  /** Root mean square distance of the fitted points from where they belong, mm. */
  readonly residualMm: number;
}
