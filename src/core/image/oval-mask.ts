import type { ToneImage } from './picture.ts';

/**
 * Cuts a tone image to the ellipse that just fits into it: the mask becomes 0 at every dot whose centre lies outside.
 * The lightness is shared with the image given.
 */
export function applyOvalMask(image: ToneImage): ToneImage {
  const { width, height } = image;
  const mask = new Uint8Array(image.mask.length);
  for (let y = 0; y < height; y++) {
    const v = (2 * y + 1) / height - 1;
    const half = Math.sqrt(Math.max(0, 1 - v * v)) * (width / 2);
    const from = y * width + Math.max(0, Math.ceil(width / 2 - half - 0.5));
    const to = y * width + Math.min(width, Math.floor(width / 2 + half - 0.5) + 1);
    if (to > from) mask.set(image.mask.subarray(from, to), from);
  }
  return { ...image, mask };
}
