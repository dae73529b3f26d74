import { type BoundsMm, boundsMm, moved, type Point, type Polygon } from '../../base/geometry/outline.ts';
import { rasterMask } from '../../base/geometry/raster-mask.ts';
import type { RgbaPhoto } from '../../base/geometry/rgba-photo.ts';
import { type PhotoScale, rectifyPhoto } from './rectify.ts';
import { type Quarters, turnBounds, turnPixels } from './slab-part.ts';

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

interface Level {
  readonly width: number;
  readonly height: number;
  /** Sums of red, green and blue over what is known, and how much is. */
  readonly sums: Float32Array;
}

/**
 * Paints over what lies outside with the colours of what is near inside, so that no table shows along a rim however small it is drawn:
 * every unknown pixel takes the mean of the smallest square of a pyramid over it that knows something
 * (push and pull: S. J. Gortler and others, "The lumigraph", SIGGRAPH 1996, section 3.4.1).
 * @param inside 1 where a pixel counts, 0 elsewhere. @returns opaque pixels; those inside are as they were. All grey if nothing is inside.
 */
export function fillOutside({ width, height, rgba }: RgbaPhoto, inside: Uint8Array): RgbaPhoto {
  const base = new Float32Array(4 * width * height);
  for (let i = 0; i < inside.length; i++) {
    if (inside[i] === 0) continue;
    for (let k = 0; k < 3; k++) base[4 * i + k] = rgba[4 * i + k];
    base[4 * i + 3] = 1;
  }
  const levels: Level[] = [{ width, height, sums: base }];
  for (let last = levels[0]; last.width > 1 || last.height > 1; last = levels[levels.length - 1])
    levels.push(halved(last));
  for (let l = levels.length - 2; l >= 0; l--) pull(levels[l], levels[l + 1]);
  const out = new Uint8Array(4 * width * height);
  for (let i = 0; i < inside.length; i++) {
    const known = base[4 * i + 3];
    for (let k = 0; k < 3; k++) out[4 * i + k] = known > 0 ? Math.round(base[4 * i + k] / known) : 128;
    out[4 * i + 3] = 255;
  }
  return { width, height, rgba: out };
}

function halved({ width, height, sums }: Level): Level {
  const [w, h] = [Math.ceil(width / 2), Math.ceil(height / 2)];
  const half = new Float32Array(4 * w * h);
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      const to = 4 * ((y >> 1) * w + (x >> 1));
      for (let k = 0; k < 4; k++) half[to + k] += sums[4 * (y * width + x) + k];
    }
  }
  return { width: w, height: h, sums: half };
}

function pull({ width, height, sums }: Level, above: Level): void {
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      const at = 4 * (y * width + x);
      if (sums[at + 3] > 0) continue;
      const from = 4 * ((y >> 1) * above.width + (x >> 1));
      for (let k = 0; k < 4; k++) sums[at + k] = above.sums[from + k];
    }
  }
}
