import type { Point, Polygon } from '../../base/geometry/point.ts';
import { type BoundsMm, boundsMm, moved } from '../../base/geometry/polygon.ts';
import { rasterMask } from '../../base/geometry/raster-mask.ts';
import type { RgbaPhoto } from '../../base/geometry/rgba-photo.ts';
import { fillOutside } from './fill-outside.ts';
import type { PhotoScale } from './photo-scale.ts';
import { type Quarters, turnBounds, turnPixels } from './quarter-turn.ts';
import { rectifyPhoto } from './rectify.ts';

/** Longest side of the picture that is kept, pixels. */
const LONGEST_PX = 2000;
/** Kept round the outline, mm. */
const MARGIN_MM = 2;
/** Pixels this near the outline are half table, mm. */
const EDGE_MM = 0.6;

/** A picture of a slab's face and where it lies, mm in the frame that the outline is in after its turns. */
export interface FacePicture extends RgbaPhoto {
  readonly box: BoundsMm;
}

/**
 * The picture of a slab that is kept with it: what a photo shows inside an outline, laid flat, the table round it painted over with the
 * colours of the rim.
 * @param outline in the slab's frame as it was found. @param shift where that frame's origin lies in the scale's plane, mm.
 * @param quarters how the slab is turned in the end. @throws RangeError as `rectifyPhoto` does.
 */
export function pictureFace(
  photo: RgbaPhoto,
  scale: PhotoScale,
  outline: Polygon,
  { shift, quarters }: { readonly shift: Point; readonly quarters: Quarters },
): FacePicture {
  const round = boundsMm(outline);
  const width = round.right - round.left + 2 * MARGIN_MM;
  const height = round.bottom - round.top + 2 * MARGIN_MM;
  const mmPerPixel = Math.max(scale.pixelMm, Math.max(width, height) / LONGEST_PX);
  const area = {
    leftMm: round.left - MARGIN_MM + shift[0],
    topMm: round.top - MARGIN_MM + shift[1],
    // Whole pixels, so that the box is what they cover.
    widthMm: mmPerPixel * Math.round(width / mmPerPixel),
    heightMm: mmPerPixel * Math.round(height / mmPerPixel),
  };
  const flat = rectifyPhoto(photo, scale, area, mmPerPixel);
  const inside = rasterMask(flat, moved(outline, shift[0], shift[1]), EDGE_MM);
  for (let i = 0; i < inside.length; i++) if (flat.rgba[4 * i + 3] < 255) inside[i] = 0;
  const left = area.leftMm - shift[0];
  const top = area.topMm - shift[1];
  const box = { left, top, right: left + area.widthMm, bottom: top + area.heightMm };
  return { ...turnPixels(fillOutside(flat, inside), quarters), box: turnBounds(box, quarters) };
}
