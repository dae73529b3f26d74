import { type Photo, placedPicture, sourcePicture } from '../../burn/prepare.ts';
import { repairPicture } from '../../burn/repaired.ts';
import type { Picture } from '../../image/picture.ts';
import { pictureFrame } from '../../piece/frame.ts';
import type { Piece } from '../../piece/schema.ts';
import { layStrip, type StripLayout } from './strip-layout.ts';
import { bandsOf, type StripOrder } from './strip-order.ts';
import { stripPicture } from './strip-picture.ts';
import { stripPiece } from './strip-piece.ts';

export interface TestStrip {
  readonly piece: Piece;
  /** What the strip's piece has for a photograph. */
  readonly picture: Picture;
  readonly layout: StripLayout;
}

/** Longest side of a strip, mm: tiles of a millimetre reach no further. */
const LONGEST_MM = 512;
const SMALLEST_CROP_MM = 3;

/**
 * Makes a test strip of a part of the picture as it lies on the slab, repaired and turned; its tones stay the piece's.
 * @throws RangeError for a crop outside the picture or too small, bands that make no sense, or a strip that gets too long; Cancelled.
 */
export function makeStrip(
  piece: Piece,
  photo: Photo,
  order: StripOrder,
  shouldStop: () => boolean = () => false,
): TestStrip {
  const { crop } = order;
  const frame = pictureFrame(piece.picture, photo.picture);
  const inside = crop.xMm >= 0 && crop.yMm >= 0 && crop.xMm < frame.widthMm && crop.yMm < frame.heightMm;
  if (!inside || !(crop.widthMm >= SMALLEST_CROP_MM && crop.heightMm >= SMALLEST_CROP_MM)) {
    throw new RangeError(
      `the crop must lie in the picture of ${Math.round(frame.widthMm)} × ${Math.round(frame.heightMm)} mm and be ${SMALLEST_CROP_MM} mm or larger`,
    );
  }
  const layout = layStrip({ crop, bands: bandsOf(order) });
  if (Math.max(layout.widthMm, layout.heightMm) > LONGEST_MM) {
    throw new RangeError(
      `such a strip is ${layout.widthMm} × ${layout.heightMm} mm; ${LONGEST_MM} mm is the most: take a smaller crop or fewer bands`,
    );
  }
  const pitchMm = piece.passes[0].rowPitchMm;
  const { repair } = piece.picture;
  const placed = repairPicture(
    placedPicture(piece, sourcePicture(photo, repair), pitchMm),
    repair,
    pitchMm,
    shouldStop,
  );
  return { piece: stripPiece(piece, layout), picture: stripPicture(layout, placed, crop, pitchMm), layout };
}
