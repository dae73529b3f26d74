import type { Tone } from '../piece/schema.ts';
import { blurGaussian } from './gaussian-blur.ts';
import { lightnessToLuminance, luminanceToLightness } from './lightness.ts';
import type { Picture, ToneImage } from './picture.ts';

const CELLS = 65536;

/**
 * Applies the tone controls to a picture that already has the size it is burned at. In this order: exposure in linear light
 * (× 2^EV, clipped at 1), then in lightness contrast, gamma (L^(1/γ), so above 1 lightens the middle), intent, curve, unsharp mask.
 * The mask is 255 × coverage, rounded; not-a-number counts as black.
 * @param pitchMm distance between dots and between rows, mm, > 0; it turns the unsharp mask's radius into dots.
 * @param lightness where it goes; may be the picture's own luminance.
 * @throws RangeError if the pitch is not positive.
 */
export function adjustTone(
  picture: Picture,
  tone: Tone,
  pitchMm: number,
  lightness: Float32Array = new Float32Array(picture.luminance.length),
): ToneImage {
  if (!(pitchMm > 0)) throw new RangeError(`a tone image needs a positive pitch, got ${pitchMm} mm`);
  const { width, height, luminance, alpha } = picture;
  const table = tableOf(tone);
  const scale = CELLS * 2 ** tone.exposureEv;
  for (let i = 0; i < luminance.length; i++) {
    const at = luminance[i] * scale;
    if (at > 0 && at < CELLS) {
      const cell = at | 0;
      lightness[i] = table[cell] + (table[cell + 1] - table[cell]) * (at - cell);
    } else {
      lightness[i] = at >= CELLS ? table[CELLS] : table[0];
    }
  }
  const mask = new Uint8Array(luminance.length).fill(255);
  if (alpha) for (let i = 0; i < mask.length; i++) mask[i] = alpha[i] * 255 + 0.5;
  const image = { width, height, lightness, mask };
  applyUnsharpMask(image, tone.unsharpMask, pitchMm);
  return image;
}

/** Contrast, gamma, intent and curve as one function, lightness in → lightness out, both 0–1. */
export function createToneCurve(tone: Omit<Tone, 'exposureEv' | 'unsharpMask'>): (lightness: number) => number {
  const [intent, curve] = [tone.intent, tone.curve].map((points) =>
    points.length > 0 ? createMonotoneCurve(points) : (lightness: number) => lightness,
  );
  return (lightness) => {
    const toned = applyContrast(lightness, tone.contrast) ** (1 / tone.gamma);
    return Math.min(1, Math.max(0, curve(intent(toned))));
  };
}

/** All tone controls but the unsharp mask as one function: lightness of the photo → lightness to burn. */
export function adjustedLightness(tone: Tone): (lightness: number) => number {
  const curve = createToneCurve(tone);
  const gain = 2 ** tone.exposureEv;
  return (lightness) => curve(luminanceToLightness(Math.min(1, gain * lightnessToLuminance(lightness))));
}

/** The last one is kept: pictures at several sizes are toned alike. */
let lastTable: { readonly key: string; readonly table: Float32Array } | null = null;

function tableOf(tone: Tone): Float32Array {
  const key = JSON.stringify([tone.contrast, tone.gamma, tone.intent, tone.curve]);
  if (lastTable?.key !== key) lastTable = { key, table: tabulate(createToneCurve(tone)) };
  return lastTable.table;
}

/** By luminance after exposure, because a table in even steps of it is fine enough for the eye in the darkest tones too. */
function tabulate(curve: (lightness: number) => number): Float32Array {
  return Float32Array.from({ length: CELLS + 1 }, (_, i) => curve(luminanceToLightness(i / CELLS)));
}

/**
 * Contrast around the middle lightness: a smooth, rising curve that leaves 0, 0.5 and 1 where they are. Its slope in the middle
 * is s = (1 + c) / (1 − c) and at both ends 1 / s, so nothing is clipped: c = 1/3 doubles the slope, c = −1/3 halves it, c = 1
 * makes a step, c = −1 a flat mid grey.
 * Equation for x ≤ 0.5, mirrored above: y = x / ((s − 1)(1 − 2x) + 1).
 * Source: C. Schlick, "Fast alternatives to Perlin's bias and gain functions", Graphics Gems IV, 1994 (with s = 1/a − 1).
 * @param lightness 0–1. @param contrast −1 … 1.
 */
export function applyContrast(lightness: number, contrast: number): number {
  if (contrast === 0) return lightness;
  const steepness = Math.min(STEEPEST, Math.max(1 / STEEPEST, (1 + contrast) / (1 - contrast))) - 1;
  const half = (x: number): number => x / (steepness * (1 - 2 * x) + 1);
  return lightness <= 0.5 ? half(lightness) : 1 - half(1 - lightness);
}

const STEEPEST = 1e6;

/**
 * Unsharp mask in place: adds `amount` times what a Gaussian blur takes away. The radius is the blur's standard deviation.
 * Differences up to the threshold are left alone and larger ones count from the threshold on, so nothing jumps at it. Where the
 * mask is 0 nothing is changed, and the blur looks only at what the mask lets through.
 * @param lightness 0–1, row-major; the result is held in 0–1.
 * @param pitchMm size of a cell, > 0.
 */
export function applyUnsharpMask(
  image: { width: number; height: number; lightness: Float32Array; mask: Uint8Array },
  settings: Tone['unsharpMask'],
  pitchMm: number,
): void {
  const { width, height, lightness, mask } = image;
  const { amount, threshold } = settings;
  const sigma = settings.radiusMm / pitchMm;
  if (!(amount > 0 && sigma >= 0.05)) return;

  const masked = mask.includes(0);
  const seen = masked ? lightness.map((value, i) => (mask[i] ? value : 0)) : lightness;
  const blurred = blurGaussian(seen, width, height, sigma);
  const weight = masked
    ? blurGaussian(
        Float32Array.from(mask, (m) => (m ? 1 : 0)),
        width,
        height,
        sigma,
      )
    : null;
  for (let i = 0; i < lightness.length; i++) {
    if (masked && mask[i] === 0) continue;
    const difference = lightness[i] - (weight ? blurred[i] / weight[i] : blurred[i]);
    const excess =
      difference > threshold ? difference - threshold : difference < -threshold ? difference + threshold : 0;
    const value = lightness[i] + amount * excess;
    lightness[i] = Math.min(1, Math.max(0, value));
  }
}

/**
 * Smooth curve through points that never swings beyond them: piecewise cubic, rising where the points rise.
 * Points are put in order of their first value (of two at the same place the later one counts). Where they do not reach the
 * ends, the corners (0, 0) and (1, 1) are added, so no points make a straight line.
 * Source: F. N. Fritsch, R. E. Carlson, "Monotone piecewise cubic interpolation", SIAM J. Numer. Anal. 17(2), 1980:
 * three-point slopes, held inside the circle of radius 3 (their region S2, section 4).
 * @param points pairs in → out, both 0–1.
 * @returns the curve as a function; outside 0–1 it continues level. NaN gives NaN.
 */
export function createMonotoneCurve(points: readonly (readonly [number, number])[]): (x: number) => number {
  const byPlace = new Map<number, number>([...points].sort((a, b) => a[0] - b[0]));
  if (!byPlace.has(0)) byPlace.set(0, 0);
  if (!byPlace.has(1)) byPlace.set(1, 1);
  const knots = [...byPlace].sort((a, b) => a[0] - b[0]);
  const xs = knots.map((knot) => knot[0]);
  const ys = knots.map((knot) => knot[1]);
  const slopes = knotSlopes(xs, ys);
  const last = xs.length - 1;

  return (x) => {
    if (x <= xs[0]) return ys[0];
    if (x >= xs[last]) return ys[last];
    let i = 0;
    while (i < last - 1 && x >= xs[i + 1]) i++;
    const h = xs[i + 1] - xs[i];
    const t = (x - xs[i]) / h;
    const u = 1 - t;
    return (
      ys[i] * u * u * (1 + 2 * t) +
      ys[i + 1] * t * t * (3 - 2 * t) +
      slopes[i] * h * t * u * u -
      slopes[i + 1] * h * t * t * u
    );
  };
}

function knotSlopes(xs: readonly number[], ys: readonly number[]): number[] {
  const count = xs.length;
  const secants = Array.from({ length: count - 1 }, (_, i) => (ys[i + 1] - ys[i]) / (xs[i + 1] - xs[i]));
  const slopes = xs.map((_, i) => {
    const before = secants[Math.max(0, i - 1)];
    const after = secants[Math.min(count - 2, i)];
    return before * after <= 0 ? 0 : (before + after) / 2;
  });
  for (let i = 0; i < count - 1; i++) {
    if (secants[i] === 0) continue;
    const alpha = slopes[i] / secants[i];
    const beta = slopes[i + 1] / secants[i];
    const length = Math.sqrt(alpha * alpha + beta * beta);
    if (length > 3) {
      slopes[i] = (3 * alpha * secants[i]) / length;
      slopes[i + 1] = (3 * beta * secants[i]) / length;
    }
  }
  return slopes;
}
