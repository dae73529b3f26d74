import { colorDifference, type Lab, labToLinearRgb, linearRgbToLab } from './lab.ts';
import type { Triple } from './spectrum.ts';
import { srgbDecodingTable } from './srgb.ts';

/** A rectangle of a photograph, boiled down. Linear sRGB. */
interface PatchMean {
  readonly rgb: Triple;
  /** Some hundred of its pixels, spread over it. */
  readonly samples: readonly Triple[];
  /** Shares of pixels with a channel at the top and at the bottom of its range. */
  readonly clipped: number;
  readonly crushed: number;
  readonly pixels: number;
}

export type PatchReading =
  | {
      readonly kind: 'color';
      readonly lab: Lab;
      /** Mean distance of the patch's pixels from its colour, ΔE00: how even it is. */
      readonly spread: number;
    }
  | { readonly kind: 'refused'; readonly reason: string };

const LEAST_PIXELS = 25;
/** More than these few are not read: the mean is no better for it, and the page keeps moving. */
const MOST_PIXELS = 40_000;
const SAMPLES = 150;
const MOST_CLIPPED = 0.02;
const MOST_CRUSHED = 0.5;
// Estimates, common practice, no published source: pixels vary more than by noise; a small part of them pulls the mean away, ΔE00.
const MOST_SPREAD = 6;
const MOST_PULL = 1.5;
/** A reference darker than this in a channel is mostly noise. */
const DARKEST_REFERENCE = 0.02;

/** Mean and evenness of RGBA pixels (sRGB bytes). */
export function meanPatch(rgba: ArrayLike<number>): PatchMean {
  const linear = srgbDecodingTable(8);
  const pixels = Math.floor(rgba.length / 4);
  const step = strideOver(pixels, MOST_PIXELS);
  const sampleStep = step * strideOver(Math.ceil(pixels / step), SAMPLES);
  const sum = [0, 0, 0];
  const samples: Triple[] = [];
  let read = 0;
  let clipped = 0;
  let crushed = 0;
  for (let i = 0; i < pixels; i += step) {
    const bytes = [rgba[4 * i], rgba[4 * i + 1], rgba[4 * i + 2]];
    const one: Triple = [linear[bytes[0]], linear[bytes[1]], linear[bytes[2]]];
    for (let k = 0; k < 3; k++) sum[k] += one[k];
    if (Math.max(...bytes) >= 254) clipped++;
    if (Math.min(...bytes) <= 0) crushed++;
    if (i % sampleStep === 0) samples.push(one);
    read++;
  }
  const count = Math.max(1, read);
  const rgb: Triple = [sum[0] / count, sum[1] / count, sum[2] / count];
  return { rgb, samples, clipped: clipped / count, crushed: crushed / count, pixels };
}

/** Odd, so that it does not fall in step with the rows of most rectangles. */
const strideOver = (count: number, most: number): number => {
  const step = Math.max(1, Math.ceil(count / most));
  return step === 1 ? 1 : step | 1;
};

/**
 * Colour of a dry painted patch from a photograph that also shows a reference of known colour: each channel is scaled so that the
 * reference comes out right (a von Kries step in linear sRGB), then turned to L*a*b* D65.
 *
 * It takes away the light's colour and the exposure. It neglects that a camera's filters are not the eye's (metamerism), the tone
 * curve and saturation that most cameras put on a picture, light that is not the same over both, and mirror reflection that differs
 * between them. Good to a few ΔE00 with an ordinary camera in even daylight; an instrument is better.
 */
export function colorFromPhoto(patch: PatchMean, reference: PatchMean, referenceLab: Lab): PatchReading {
  const wanted = labToLinearRgb(referenceLab);
  const gain = wanted.map((value, k) => value / Math.max(reference.rgb[k], 1e-4)) as unknown as Triple;
  const [patchEvenness, referenceEvenness] = [evenness(patch, gain), evenness(reference, gain)];
  const reason =
    faultOf('The patch', patch) ??
    unevenness('The patch', patchEvenness) ??
    faultOf('The reference', reference) ??
    (Math.min(...reference.rgb) < DARKEST_REFERENCE
      ? 'The reference is too dark to measure the light by; photograph it again with more light.'
      : null) ??
    unevenness('The reference', referenceEvenness) ??
    (patch.crushed > MOST_CRUSHED
      ? 'The patch is too dark in the picture; photograph it again with more light.'
      : null);
  if (reason !== null) return { kind: 'refused', reason };
  const lab = linearRgbToLab(scaled(patch.rgb, gain));
  if (lab[0] > 100.5) {
    return {
      kind: 'refused',
      reason:
        'The patch comes out lighter than white: are the two rectangles swapped, or the reference darker than chosen?',
    };
  }
  return { kind: 'color', lab: [Math.min(100, lab[0]), lab[1], lab[2]], spread: patchEvenness.spread };
}

const scaled = (rgb: Triple, gain: Triple): Triple => [rgb[0] * gain[0], rgb[1] * gain[1], rgb[2] * gain[2]];

function faultOf(name: string, one: PatchMean): string | null {
  if (one.pixels < LEAST_PIXELS) return `${name} is only ${one.pixels} pixels; draw its rectangle larger.`;
  if (one.clipped > MOST_CLIPPED) return `${name} is overexposed; photograph it again with less light.`;
  return null;
}

/** How far pixels are from their mean, and the mean from the median, in the light that the gain stands for; ΔE00. */
function evenness({ rgb, samples }: PatchMean, gain: Triple): { readonly spread: number; readonly pull: number } {
  const mean = linearRgbToLab(scaled(rgb, gain));
  const away = samples.reduce((sum, one) => sum + colorDifference(linearRgbToLab(scaled(one, gain)), mean), 0);
  const median = [0, 1, 2].map((k) => samples.map((one) => one[k]).sort((a, b) => a - b)[samples.length >> 1] ?? 0);
  return {
    spread: away / Math.max(1, samples.length),
    pull: colorDifference(linearRgbToLab(scaled(median as unknown as Triple, gain)), mean),
  };
}

function unevenness(name: string, { spread, pull }: ReturnType<typeof evenness>): string | null {
  if (spread <= MOST_SPREAD && pull <= MOST_PULL) return null;
  return `${name} is uneven (ΔE ${Math.max(spread, pull).toFixed(1)}): keep its rectangle off edges, glare and dirt.`;
}
