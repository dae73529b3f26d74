import { screenTone } from '../../image/screens/screen-tone.ts';
import type { ScreenMethod } from '../../piece/schema.ts';

/** Dots along the side of the patch a screen is judged on, and its tones. */
const SIDE = 64;
const TONES = [0.25, 0.45, 0.65, 0.85];
/** Standard deviation of the eye's blur, mm: one arc minute at 400 mm (a usual figure, value from memory). */
export const EYE_BLUR_MM = 0.12;

const dotsOf = new Map<ScreenMethod, Uint8Array[]>();

function dots(method: ScreenMethod): Uint8Array[] {
  let patches = dotsOf.get(method);
  if (!patches) {
    patches = TONES.map((tone) =>
      screenTone(
        {
          width: SIDE,
          height: SIDE,
          lightness: new Float32Array(SIDE * SIDE).fill(tone),
          mask: new Uint8Array(SIDE * SIDE).fill(255),
        },
        method,
      ),
    );
    dotsOf.set(method, patches);
  }
  return patches;
}

const grains = new Map<string, number>();

/**
 * Grain of a screen: standard deviation of its coverage, 0–0.5, once it is blurred by beam and eye (standard deviation in dots), root
 * mean square over four tones. 0 in continuous tone. Measured on the screen's own dots.
 */
export function screenGrain(method: ScreenMethod, blurDots: number): number {
  if (method === 'continuous') return 0;
  const steps = Math.round(8 * Math.min(12, blurDots));
  const key = `${method} ${steps}`;
  let grain = grains.get(key);
  if (grain === undefined) {
    const variances = dots(method).map((levels) => blurredVariance(levels, steps / 8));
    grain = Math.sqrt(variances.reduce((sum, value) => sum + value, 0) / TONES.length);
    grains.set(key, grain);
  }
  return grain;
}

/** The patch repeats beyond its sides. */
function blurredVariance(levels: Uint8Array, blurDots: number): number {
  const half = Math.ceil(3 * blurDots);
  const weights = Array.from({ length: 2 * half + 1 }, (_, i) =>
    blurDots > 0 ? Math.exp(-0.5 * ((i - half) / blurDots) ** 2) : 1,
  );
  const total = weights.reduce((sum, value) => sum + value, 0);
  const along = (from: Float64Array, step: number): Float64Array =>
    from.map((_, at) => {
      const place = Math.floor(at / step) % SIDE;
      const base = at - place * step;
      let sum = 0;
      for (let k = 0; k < weights.length; k++)
        sum += weights[k] * from[base + ((place + k - half + 4 * SIDE) % SIDE) * step];
      return sum / total;
    });
  const coverage = Float64Array.from(levels, (level) => level / 255);
  const blurred = along(along(coverage, 1), SIDE);
  const average = blurred.reduce((sum, value) => sum + value, 0) / blurred.length;
  return blurred.reduce((sum, value) => sum + (value - average) ** 2, 0) / blurred.length;
}
