import type { Point } from '../../base/geometry/point.ts';
import { type PhotoScale, type PhotoSize, photoToMm, pixelSizeMm } from './photo-scale.ts';
import type { AreaMm } from './rectify.ts';

/** Places looked at along each side of the photo. */
const PLACES = 48;
/** What is seen so flatly that a pixel covers more than this many times its size at the marks is left out. */
const FLATTEST = 4;

/**
 * The part of the slab's plane that a photo shows well: the box round all places whose pixels cover at most four times the length
 * they cover at the marks. Near the horizon a photo shows kilometres; nobody's slab lies there.
 * @returns the box in mm. Its edges are right to a 48th of the photo.
 * @throws RangeError if no part of the photo qualifies.
 */
export function visibleArea(photo: PhotoSize, scale: PhotoScale): AreaMm {
  let left = Number.POSITIVE_INFINITY;
  let top = Number.POSITIVE_INFINITY;
  let right = Number.NEGATIVE_INFINITY;
  let bottom = Number.NEGATIVE_INFINITY;
  for (let j = 0; j <= PLACES; j++) {
    for (let i = 0; i <= PLACES; i++) {
      const at: Point = [(i / PLACES) * photo.width, (j / PLACES) * photo.height];
      const mm = photoToMm(scale, at);
      if (!mm || !(pixelSizeMm(scale, at) <= FLATTEST * scale.pixelMm)) continue;
      left = Math.min(left, mm[0]);
      right = Math.max(right, mm[0]);
      top = Math.min(top, mm[1]);
      bottom = Math.max(bottom, mm[1]);
    }
  }
  if (!(right > left && bottom > top)) throw new RangeError('the marked points do not fit a photo of a flat slab');
  return { leftMm: left, topMm: top, widthMm: right - left, heightMm: bottom - top };
}

/** Pixels on the longer side of a rectified photo that finding an outline needs: more costs time and finds no more. */
const USEFUL_SIDE = 1600;

/** Pitch at which to rectify: as fine as the photo at the marks, but at most about 1600 pixels a side. */
export const usefulPitchMm = (area: AreaMm, scale: PhotoScale): number =>
  Math.max(scale.pixelMm, Math.max(area.widthMm, area.heightMm) / USEFUL_SIDE);
