import type { Lab } from '../piece/schema.ts';
import { colorDifference, labToLinearRgb, linearRgbToLab } from './lab.ts';
import type { Triple } from './spectrum.ts';

/** A rectangle of a photograph, boiled down. Linear sRGB. */
export interface PatchMean {
  readonly rgb: Triple;
  /** Mean of its pixels' distance from the mean, ΔE00: how even it is. */
  readonly spread: number;
  /** Share of pixels with a channel at the top of its range. */
  readonly clipped: number;
  readonly pixels: number;
}

export type PatchReading =
  | { readonly kind: 'color'; readonly lab: Lab; readonly spread: number }
  | { readonly kind: 'refused'; readonly reason: string };

const LEAST_PIXELS = 25;
const MOST_CLIPPED = 0.02;
/** Rectangles that vary more than this hold an edge, a glare or dirt (estimate). */
const MOST_SPREAD = 6;
/** A reference darker than this is mostly noise. */
const DARKEST_REFERENCE = 0.02;

/** Mean and evenness of RGBA pixels (sRGB bytes). */
export function meanPatch(rgba: ArrayLike<number>): PatchMean {
  const pixels = Math.floor(rgba.length / 4);
  const sum = [0, 0, 0];
  let clipped = 0;
  const linear = (byte: number) => {
    const value = byte / 255;
    return value <= 0.04045 ? value / 12.92 : ((value + 0.055) / 1.055) ** 2.4;
  };
  for (let i = 0; i < pixels; i++) {
    let full = false;
    for (let k = 0; k < 3; k++) {
      sum[k] += linear(rgba[4 * i + k]);
      if (rgba[4 * i + k] >= 254) full = true;
    }
    if (full) clipped++;
  }
  const rgb = sum.map((value) => value / Math.max(1, pixels)) as unknown as Triple;
  const mean = linearRgbToLab(rgb);
  // A few hundred pixels tell the spread.
  const step = Math.max(1, Math.floor(pixels / 400));
  let away = 0;
  let counted = 0;
  for (let i = 0; i < pixels; i += step) {
    const one = [0, 1, 2].map((k) => linear(rgba[4 * i + k])) as unknown as Triple;
    away += colorDifference(linearRgbToLab(one), mean);
    counted++;
  }
  return { rgb, spread: away / Math.max(1, counted), clipped: clipped / Math.max(1, pixels), pixels };
}

/**
 * Colour of a dry painted patch from a photograph that also shows a reference of known colour: each channel is scaled so that the
 * reference comes out right (a von Kries step in linear sRGB). Takes away the light's colour and the exposure; neglects what the
 * camera's own filters make of colours, and light that is not the same over both. Good to a few ΔE00.
 */
export function colorFromPhoto(patch: PatchMean, reference: PatchMean, referenceLab: Lab): PatchReading {
  const refuse = (reason: string): PatchReading => ({ kind: 'refused', reason });
  for (const [name, one] of [
    ['The patch', patch],
    ['The reference', reference],
  ] as const) {
    if (one.pixels < LEAST_PIXELS) return refuse(`${name} is only ${one.pixels} pixels; draw its rectangle larger.`);
    if (one.clipped > MOST_CLIPPED) return refuse(`${name} is overexposed; photograph it again with less light.`);
    if (one.spread > MOST_SPREAD)
      return refuse(`${name} is uneven (ΔE ${one.spread.toFixed(1)}): keep its rectangle off edges, glare and dirt.`);
  }
  if (Math.min(...reference.rgb) < DARKEST_REFERENCE) {
    return refuse('The reference is too dark to tell the light by; photograph it again with more light.');
  }
  const wanted = labToLinearRgb(referenceLab);
  const rgb = patch.rgb.map((value, k) => (value * wanted[k]) / reference.rgb[k]) as unknown as Triple;
  const lab = linearRgbToLab(rgb);
  if (lab[0] > 100.5) return refuse('The patch comes out lighter than white: is the reference really that light?');
  return { kind: 'color', lab: [Math.min(100, lab[0]), lab[1], lab[2]], spread: patch.spread };
}
