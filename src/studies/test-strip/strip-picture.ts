import type { Picture } from '../../image/picture.ts';
import type { CropBox } from '../../piece/frame.ts';
import { digitStrokes } from '../../vision/card/digits.ts';
import { LABEL_HEIGHT_MM, type StripBox, type StripLayout } from './strip-layout.ts';

/** Width of a label's strokes, mm. */
const STROKE_MM = 0.4;
/** Strokes that slant are drawn in so many short steps. */
const STEPS = 24;

/**
 * The picture of a strip at a pitch: the crop of the placed picture in every band, each band's number and setting in light strokes beside
 * it, black elsewhere. `placed` covers the placed picture at the same pitch.
 */
export function stripPicture(layout: StripLayout, placed: Picture, crop: CropBox, pitchMm: number): Picture {
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
