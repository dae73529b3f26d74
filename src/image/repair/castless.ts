import type { EncodedPixels } from '../linearise.ts';
import type { Picture } from '../picture.ts';
import { repairCast } from './cast.ts';

/** Difference of a pixel's channels, share of their range, from which a picture counts as one in colour. */
const COLOURED = 0.02;
const LOOKED_AT = 4000;

/** The picture without its cast; null for one that is grey, which has none. */
export function castlessPicture(pixels: EncodedPixels): Picture | null {
  const { channels, data } = pixels;
  if (channels < 3) return null;
  const full = data instanceof Uint16Array ? 65535 : 255;
  const count = data.length / channels;
  const step = Math.max(1, Math.floor(count / LOOKED_AT));
  for (let i = 0; i < count; i += step) {
    const at = i * channels;
    const [low, high] = [
      Math.min(data[at], data[at + 1], data[at + 2]),
      Math.max(data[at], data[at + 1], data[at + 2]),
    ];
    if (high - low > COLOURED * full) return repairCast(pixels).picture;
  }
  return null;
}
