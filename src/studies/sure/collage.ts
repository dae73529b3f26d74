import type { ToneImage } from '../../image/picture.ts';
import { screenTone } from '../../image/screens/screen-tone.ts';
import { createPassRaster, type ScreenedPass } from '../../physics/raster/pass-raster.ts';
import type { Pass } from '../../piece/schema.ts';
import type { SamplePlace } from './places.ts';

/** Squares of a picture side by side, `dots` cells a side and `margin` more round each. */
export interface Layout {
  readonly places: readonly SamplePlace[];
  readonly dots: number;
  readonly margin: number;
}

export const sideOf = ({ dots, margin }: Layout): number => dots + 2 * margin;

/** The squares of a picture with their margins; beyond the picture nothing burns. */
export function collageOf(tone: ToneImage, layout: Layout): ToneImage {
  const side = sideOf(layout);
  const width = side * layout.places.length;
  const lightness = new Float32Array(width * side);
  const mask = new Uint8Array(width * side);
  cut(tone.width, tone.height, layout, (from, to, length) => {
    lightness.set(tone.lightness.subarray(from, from + length), to);
    mask.set(tone.mask.subarray(from, from + length), to);
  });
  return { width, height: side, lightness, mask };
}

/**
 * A pass over the squares. One that runs along the picture's rows at its pitch keeps the very dots of the whole picture; any other is
 * screened anew on the squares and runs straight, as heading makes no difference to so small a place.
 */
export function screenedCollage(
  whole: ScreenedPass,
  pass: Pass,
  tone: ToneImage,
  collage: ToneImage,
  pitchMm: number,
  layout: Layout,
): ScreenedPass {
  const own = keepsItsDots(whole, pass, tone, pitchMm);
  const { levels, mask, width, height } = own ? cutDots(whole, layout) : screenAnew(collage, pass, pitchMm);
  const raster = createPassRaster(collage.width * pitchMm, collage.height * pitchMm, pass.rowPitchMm, 0);
  const backwards = Uint8Array.from({ length: height }, (_, row) => (pass.rows === 'two-way' ? row % 2 : 0));
  const spans = { first: new Int32Array(height), end: new Int32Array(height).fill(width), backwards };
  return { raster, levels, mask, spans };
}

const keepsItsDots = ({ raster }: ScreenedPass, pass: Pass, tone: ToneImage, pitchMm: number): boolean =>
  pass.headingRad === 0 &&
  Math.abs(pass.rowPitchMm - pitchMm) < 1e-9 &&
  raster.columns === tone.width &&
  raster.rows === tone.height;

function cutDots({ raster, levels, mask }: ScreenedPass, layout: Layout) {
  const side = sideOf(layout);
  const width = side * layout.places.length;
  const dots = { levels: new Uint8Array(width * side), mask: new Uint8Array(width * side), width, height: side };
  cut(raster.columns, raster.rows, layout, (from, to, length) => {
    dots.levels.set(levels.subarray(from, from + length), to);
    dots.mask.set(mask.subarray(from, from + length), to);
  });
  return dots;
}

function screenAnew(collage: ToneImage, pass: Pass, pitchMm: number) {
  const scale = pitchMm / pass.rowPitchMm;
  const width = Math.max(1, Math.round(collage.width * scale));
  const height = Math.max(1, Math.round(collage.height * scale));
  const lightness = new Float32Array(width * height);
  const mask = new Uint8Array(width * height);
  for (let y = 0; y < height; y++) {
    const line = Math.min(collage.height - 1, Math.floor((y + 0.5) / scale)) * collage.width;
    for (let x = 0; x < width; x++) {
      const from = line + Math.min(collage.width - 1, Math.floor((x + 0.5) / scale));
      lightness[y * width + x] = collage.lightness[from];
      mask[y * width + x] = collage.mask[from];
    }
  }
  const image = { width, height, lightness, mask };
  return { levels: screenTone(image, pass.screen, { serpentine: pass.serpentine }), mask, width, height };
}

/** Tells for each row of each square what of a plane it is: where it begins there and in the collage, and its length. */
function cut(
  width: number,
  height: number,
  layout: Layout,
  copy: (from: number, to: number, length: number) => void,
): void {
  const side = sideOf(layout);
  const { places, margin } = layout;
  places.forEach(({ firstX, firstY }, tile) => {
    const left = firstX - margin;
    const from = Math.max(0, left);
    const length = Math.min(width, left + side) - from;
    if (length <= 0) return;
    for (let row = 0; row < side; row++) {
      const y = firstY - margin + row;
      if (y < 0 || y >= height) continue;
      copy(y * width + from, row * side * places.length + tile * side + from - left, length);
    }
  });
}
