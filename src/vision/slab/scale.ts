import { fitHomography, type Homography } from '../../base/geometry/homography.ts';
import type { Point } from '../../base/geometry/outline.ts';
import {
  fitLens,
  type Lens,
  lensOfPhoto,
  type PhotoScale,
  type PhotoSize,
  pixelSizeMm,
  straighten,
} from './rectify.ts';

/** Bank card, ISO/IEC 7810:2019, size ID-1, mm. */
export const CARD_MM = { width: 85.6, height: 53.98 } as const;

/** What the maker marked; all points in photo pixels (the middle of the first pixel is 0.5, 0.5). */
export type Marks =
  /** Four corners of a rectangle, in order round it; the first two are `widthMm` apart. */
  | {
      readonly kind: 'rectangle';
      readonly corners: readonly Point[];
      readonly widthMm: number;
      readonly heightMm: number;
    }
  /** Four corners of a bank card, in order round it, starting anywhere. */
  | { readonly kind: 'card'; readonly corners: readonly Point[] }
  /** Two points on a ruler. */
  | { readonly kind: 'ruler'; readonly ends: readonly Point[]; readonly lengthMm: number }
  /** Four or more points whose places in mm are known; five or more also give the lens if `findLens` is set. */
  | {
      readonly kind: 'points';
      readonly photo: readonly Point[];
      readonly mm: readonly Point[];
      readonly findLens?: boolean;
    };

/**
 * True size from marks in the photo. The marks must lie in the plane of the slab's face: on a table t below it, and a camera at
 * height h above that, sizes come out t/h too large.
 * @param k1 distortion of the lens if it is known (`Lens`).
 * Test: test/unit/slab-homography.test.ts.
 * @throws RangeError for a length that is not greater than zero, marks outside the photo, on a line, too close or crossing, a k1 beyond ±0.5.
 */
export function scaleFromMarks(photo: PhotoSize, marks: Marks, k1 = 0): PhotoScale {
  if (!(Math.abs(k1) <= 0.5)) throw new RangeError(`the distortion k1 lies between −0.5 and 0.5, got ${k1}`);
  const lens = lensOfPhoto(photo, k1);
  switch (marks.kind) {
    case 'rectangle':
      return fromRectangle(photo, lens, marks.corners, marks.widthMm, marks.heightMm);
    case 'card':
      return fromCard(photo, lens, marks.corners);
    case 'ruler':
      return fromRuler(photo, lens, marks.ends, marks.lengthMm);
    case 'points': {
      checkMarks(photo, marks.photo, Math.max(4, marks.photo.length));
      if (marks.findLens) {
        const fit = fitLens(photo, marks.photo, marks.mm);
        return finish(fit.lens, fit.map, marks.photo, true, []);
      }
      const straight = marks.photo.map((point) => straighten(lens, point));
      return finish(lens, fitHomography(straight, marks.mm), marks.photo, true, []);
    }
  }
}

function fromRectangle(photo: PhotoSize, lens: Lens, corners: readonly Point[], widthMm: number, heightMm: number) {
  checkLength(widthMm);
  checkLength(heightMm);
  checkMarks(photo, corners, 4);
  const straight = corners.map((point) => straighten(lens, point));
  // Walked counter-clockwise, the rectangle lies above its first edge instead of below it; nothing is ever mirrored.
  const down = Math.sign(turn(straight)) * heightMm;
  const map = fitHomography(straight, [
    [0, 0],
    [widthMm, 0],
    [widthMm, down],
    [0, down],
  ]);
  return finish(lens, map, corners, true, []);
}

function fromCard(photo: PhotoSize, lens: Lens, corners: readonly Point[]): PhotoScale {
  checkMarks(photo, corners, 4);
  const side = (i: number): number => distance(corners[i], corners[(i + 1) % 4]);
  const long = side(0) + side(2) > side(1) + side(3);
  const scale = fromRectangle(
    photo,
    lens,
    corners,
    long ? CARD_MM.width : CARD_MM.height,
    long ? CARD_MM.height : CARD_MM.width,
  );
  const share = Math.abs(turn(corners)) / 2 / (photo.width * photo.height);
  if (share >= SMALL_CARD) return scale;
  const percent = (100 * share).toFixed(1);
  const note = `The card takes up only ${percent} % of the photograph, so a slip of one pixel at a corner weighs much: come closer or use marks that lie further apart.`;
  return { ...scale, notes: [...scale.notes, note] };
}

/** Share of the photo below which a card's corners cannot carry the perspective of the whole (estimate). */
const SMALL_CARD = 0.01;

function fromRuler(photo: PhotoSize, lens: Lens, ends: readonly Point[], lengthMm: number): PhotoScale {
  checkLength(lengthMm);
  checkMarks(photo, ends, 2);
  const [a, b] = ends.map((point) => straighten(lens, point));
  const mmPerPx = lengthMm / distance(a, b);
  const size = Math.hypot(mmPerPx, mmPerPx, mmPerPx * Math.hypot(...a), 1);
  const map = [mmPerPx, 0, -mmPerPx * a[0], 0, mmPerPx, -mmPerPx * a[1], 0, 0, 1].map((value) => value / size);
  return finish(lens, map, ends, false, [
    'A ruler gives the size only: perspective is not corrected, so the photograph must be taken from straight above.',
  ]);
}

function finish(lens: Lens, toMm: Homography, marks: readonly Point[], perspectiveCorrected: boolean, notes: string[]) {
  const middle: Point = [mean(marks.map(([x]) => x)), mean(marks.map(([, y]) => y))];
  const pixelMm = pixelSizeMm({ lens, toMm }, middle);
  if (!(pixelMm > 0)) throw new RangeError('the marked points give a scale of zero: mark them further apart');
  return { lens, toMm, perspectiveCorrected, pixelMm, notes };
}

function checkLength(mm: number): void {
  if (!(mm > 0 && Number.isFinite(mm))) throw new RangeError(`a scale needs a length greater than 0 mm, got ${mm}`);
}

function checkMarks(photo: PhotoSize, marks: readonly Point[], count: number): void {
  if (marks.length !== count) throw new RangeError(`${count} marked points are needed, got ${marks.length}`);
  for (const [x, y] of marks) {
    if (!(x >= 0 && x <= photo.width && y >= 0 && y <= photo.height)) {
      throw new RangeError(
        `the point (${x}, ${y}) lies outside the photograph of ${photo.width} × ${photo.height} pixels`,
      );
    }
  }
  for (let i = 0; i < count; i++) {
    for (let j = 0; j < i; j++) {
      if (distance(marks[i], marks[j]) < 2) throw new RangeError('two marked points coincide: mark them further apart');
    }
  }
}

const mean = (values: readonly number[]): number => values.reduce((sum, value) => sum + value, 0) / values.length;
const distance = (a: Point, b: Point): number => Math.hypot(a[0] - b[0], a[1] - b[1]);
/** Twice the area of a quadrangle, positive if it is walked clockwise as seen. */
const turn = (quad: readonly Point[]): number =>
  quad.reduce((sum, [x, y], i) => sum + x * quad[(i + 1) % 4][1] - y * quad[(i + 1) % 4][0], 0);
