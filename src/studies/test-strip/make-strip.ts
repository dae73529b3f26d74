import { type Photo, placedPicture, repairPicture, sourcePicture } from '../../burn/prepare.ts';
import type { Picture } from '../../image/picture.ts';
import { burnFrame, type CropBox } from '../../piece/frame.ts';
import type { Piece } from '../../piece/schema.ts';
import { digitStrokes } from '../../vision/card/picture.ts';
import {
  bandsOf,
  LABEL_HEIGHT_MM,
  layStrip,
  type StripBox,
  type StripLayout,
  type StripOrder,
  stripPiece,
} from './strip-piece.ts';

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
 * @throws RangeError for a crop outside the picture or too small, bands that make no sense, or a strip that gets too long.
 */
export function makeStrip(piece: Piece, photo: Photo, order: StripOrder): TestStrip {
  const { crop } = order;
  const frame = burnFrame(piece, photo.picture);
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
  const placed = repairPicture(placedPicture(piece, sourcePicture(photo, piece.picture), pitchMm), repair, pitchMm);
  return { piece: stripPiece(piece, layout), picture: stripPicture(layout, placed, crop, pitchMm), layout };
}

/** Width of a label's strokes, mm. */
const STROKE_MM = 0.4;

/** Strokes that slant are drawn in so many short steps. */
const STEPS = 24;

/**
 * The picture of a strip at a pitch: the crop of the placed picture in every band, each band's number and setting in light strokes beside
 * it, black elsewhere. `placed` covers the placed picture at the same pitch.
 */
function stripPicture(layout: StripLayout, placed: Picture, crop: CropBox, pitchMm: number): Picture {
  const dot = (mm: number) => Math.round(mm / pitchMm);
  const width = dot(layout.widthMm);
  const height = dot(layout.heightMm);
  const luminance = new Float32Array(width * height);
  const fill = ({ xMm, yMm, widthMm, heightMm }: StripBox) => {
    for (let y = Math.max(0, dot(yMm)); y < Math.min(height, dot(yMm + heightMm)); y++) {
      luminance.fill(1, y * width + Math.max(0, dot(xMm)), y * width + Math.min(width, dot(xMm + widthMm)));
    }
  };
  for (const { number, label, box, labelBox } of layout.bands) {
    const [right, bottom] = [dot(box.xMm + box.widthMm), dot(box.yMm + box.heightMm)];
    for (let y = dot(box.yMm); y < bottom; y++) {
      for (let x = dot(box.xMm); x < right; x++) {
        luminance[y * width + x] = at(placed, dot(crop.xMm) + x - dot(box.xMm), dot(crop.yMm) + y - dot(box.yMm));
      }
    }
    const text = `${number} ${label}`;
    const tall = Math.min(LABEL_HEIGHT_MM, (labelBox.widthMm * 4) / (3 * text.length));
    for (const [x0, y0, x1, y1] of digitStrokes(text, labelBox.xMm + STROKE_MM, labelBox.yMm + STROKE_MM, tall)) {
      for (let k = 0; k <= STEPS; k++) {
        const x = x0 + ((x1 - x0) * k) / STEPS;
        const y = y0 + ((y1 - y0) * k) / STEPS;
        fill({ xMm: x - STROKE_MM / 2, yMm: y - STROKE_MM / 2, widthMm: STROKE_MM, heightMm: STROKE_MM });
      }
    }
  }
  return { width, height, luminance, alpha: null };
}

/** Luminance of a place, black where the picture ends or is transparent. */
function at({ width, height, luminance, alpha }: Picture, x: number, y: number): number {
  if (x < 0 || y < 0 || x >= width || y >= height) return 0;
  const i = y * width + x;
  return alpha ? luminance[i] * alpha[i] : luminance[i];
}
