import { encodeSrgb } from '../../base/color/srgb.ts';
import type { EncodedPixels } from '../linearise.ts';
import type { LinearProfile } from './icc.ts';

/** Codes of 8 bits by which a profile may differ from sRGB and still be taken for it. */
const SAME_WITHIN = 0.5;
/** Steps of the square root of linear light: near black the codes follow it almost evenly. */
const STEPS = 16384;

let encoding: Float32Array | undefined;

/**
 * Pixels of a profile in sRGB of 16 bits, clipped to its gamut, opacity as it was; pixels whose profile says what sRGB says anyway
 * stay as they are. Grey profiles take the first of the colours.
 */
export function pixelsToSrgb(pixels: EncodedPixels, profile: LinearProfile): EncodedPixels {
  if (isSrgb(profile)) return pixels;
  const { channels, data } = pixels;
  const deep = data instanceof Uint16Array;
  const codes = deep ? 65536 : 256;
  const tables = profile.curves.map((curve) => Float32Array.from({ length: codes }, (_, i) => curve(i / (codes - 1))));
  const [first, second = first, third = first] = tables;
  encoding ??= Float32Array.from({ length: STEPS + 2 }, (_, i) => 65535 * encodeSrgb(Math.min(1, (i / STEPS) ** 2)));
  const table = encoding;
  const encode = (linear: number): number => {
    const place = linear > 0 ? (linear < 1 ? Math.sqrt(linear) * STEPS : STEPS) : 0;
    const low = place | 0;
    return (table[low] + (table[low + 1] - table[low]) * (place - low) + 0.5) | 0;
  };
  const out = new Uint16Array(data.length);
  const colors = channels < 3 ? 1 : 3;
  const m = profile.toSrgb;
  for (let at = 0; at < data.length; at += channels) {
    const r = first[data[at]];
    if (colors === 1 || m === null) {
      const code = encode(r);
      for (let k = 0; k < colors; k++) out[at + k] = code;
    } else {
      const g = second[data[at + 1]];
      const b = third[data[at + 2]];
      out[at] = encode(m[0] * r + m[1] * g + m[2] * b);
      out[at + 1] = encode(m[3] * r + m[4] * g + m[5] * b);
      out[at + 2] = encode(m[6] * r + m[7] * g + m[8] * b);
    }
    if (channels !== colors) out[at + colors] = deep ? data[at + colors] : 257 * data[at + colors];
  }
  return { ...pixels, data: out };
}

function isSrgb({ curves, toSrgb }: LinearProfile): boolean {
  const near = (linear: number, wanted: number) =>
    Math.abs(255 * encodeSrgb(Math.min(1, Math.max(0, linear))) - 255 * wanted) < SAME_WITHIN;
  for (const curve of curves) {
    for (let code = 0; code < 256; code++) if (!near(curve(code / 255), code / 255)) return false;
  }
  if (!toSrgb) return true;
  return toSrgb.every((value, i) => Math.abs(value - (i % 4 === 0 ? 1 : 0)) < 0.002);
}
