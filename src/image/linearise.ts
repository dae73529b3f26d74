import { srgbDecodingTable } from '../base/color/srgb.ts';
import type { Picture } from './picture.ts';

/** Decoded pixels as decoders hand them out: sRGB encoded, interleaved, row-major, alpha not premultiplied. */
export interface EncodedPixels {
  readonly width: number;
  readonly height: number;
  /** 1 grey, 2 grey and alpha, 3 RGB, 4 RGB and alpha. */
  readonly channels: 1 | 2 | 3 | 4;
  /** 16-bit codes in a `Uint16Array`, 8-bit codes otherwise. */
  readonly data: Uint8Array | Uint8ClampedArray | Uint16Array;
}

/** Luminance of the sRGB primaries (IEC 61966-2-1, the primaries of Rec. ITU-R BT.709). */
const RED = 0.2126;
const GREEN = 0.7152;
const BLUE = 0.0722;

/**
 * Turns encoded pixels into linear luminance (CIE Y over that of white, 0–1). The colour of transparent pixels is kept;
 * `alpha` is null when every pixel is opaque.
 * Source: transfer function and weights of IEC 61966-2-1:1999.
 * @throws RangeError if the data do not have width × height × channels values.
 */
export function linearise(pixels: EncodedPixels): Picture {
  const { width, height, channels, data } = pixels;
  const alpha = readCoverage(pixels);
  const count = width * height;
  const table = srgbDecodingTable(data instanceof Uint16Array ? 16 : 8);
  const luminance = new Float32Array(count);
  if (channels < 3) {
    for (let i = 0, at = 0; i < count; i++, at += channels) luminance[i] = table[data[at]];
  } else {
    for (let i = 0, at = 0; i < count; i++, at += channels) {
      luminance[i] = RED * table[data[at]] + GREEN * table[data[at + 1]] + BLUE * table[data[at + 2]];
    }
  }
  return { width, height, luminance, alpha };
}

/**
 * Coverage of encoded pixels, 0–1; null when every one is opaque.
 * @throws RangeError if the data do not have width × height × channels values.
 */
export function readCoverage({ width, height, channels, data }: EncodedPixels): Float32Array | null {
  const count = width * height;
  if (data.length !== count * channels) {
    throw new RangeError(
      `${width} × ${height} pixels of ${channels} channels need ${count * channels} values, got ${data.length}`,
    );
  }
  if (channels % 2 === 1) return null;
  const full = data instanceof Uint16Array ? 65535 : 255;
  let first = 0;
  while (first < count && data[first * channels + channels - 1] === full) first++;
  if (first === count) return null;
  const alpha = new Float32Array(count).fill(1, 0, first);
  for (let i = first; i < count; i++) alpha[i] = data[i * channels + channels - 1] / full;
  return alpha;
}
