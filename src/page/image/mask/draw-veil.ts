import { paintStrokes } from '../../../image/mask/brush.ts';
import type { BrushStroke } from '../../../piece/schema.ts';
import type { MaskPixels } from './mask-pixels.ts';

/** Warm grey, and how much of it lies over what is taken away wholly. */
const GREY = [170, 162, 152] as const;
const COVER = 0.86;

/** Draws what a mask takes away onto a canvas of its size; `live` strokes are not kept. */
export function drawVeil(
  canvas: HTMLCanvasElement,
  pixels: MaskPixels,
  strokes: readonly BrushStroke[],
  live: readonly BrushStroke[],
): void {
  const context = canvas.getContext('2d');
  if (!context) return;
  const { width, height } = canvas;
  const kept = pixels.paint(strokes);
  const mask = live.length > 0 ? paintStrokes(kept, width, height, live) : kept;
  const image = context.createImageData(width, height);
  for (let i = 0; i < mask.length; i++) {
    image.data.set(GREY, 4 * i);
    image.data[4 * i + 3] = COVER * (255 - Math.min(mask[i], pixels.crop[i]));
  }
  context.putImageData(image, 0, 0);
}
