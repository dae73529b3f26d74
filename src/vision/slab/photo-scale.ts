import { applyHomography, type Homography } from '../../base/geometry/homography.ts';
import type { Point } from '../../base/geometry/point.ts';
import { type Lens, straighten } from './lens.ts';

/** How a photograph is brought to true size. */
export interface PhotoScale {
  readonly lens: Lens;
  /** Photo pixels, straightened by the lens, → mm in the plane of the marks; the first mark is the origin. */
  readonly toMm: Homography;
  /** False: only the size is known and the photo must have been taken from straight above. */
  readonly perspectiveCorrected: boolean;
  /** Size of a photo pixel in the middle of the marks, mm. */
  readonly pixelMm: number;
  /** Sentences for the maker about what this scale cannot know. */
  readonly notes: readonly string[];
}

export interface PhotoSize {
  readonly width: number;
  readonly height: number;
}

/** Photo pixel → mm; null beyond the horizon. */
export const photoToMm = (scale: Pick<PhotoScale, 'lens' | 'toMm'>, point: Point): Point | null =>
  applyHomography(scale.toMm, straighten(scale.lens, point));

/** Side of the square that has a photo pixel's area, mm; NaN beyond the horizon. */
export function pixelSizeMm(scale: Pick<PhotoScale, 'lens' | 'toMm'>, [x, y]: Point): number {
  const here = photoToMm(scale, [x, y]);
  const right = photoToMm(scale, [x + 1, y]);
  const below = photoToMm(scale, [x, y + 1]);
  if (!here || !right || !below) return Number.NaN;
  const area = (right[0] - here[0]) * (below[1] - here[1]) - (right[1] - here[1]) * (below[0] - here[0]);
  return Math.sqrt(Math.abs(area));
}
