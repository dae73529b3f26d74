import { applyContrast, createToneCurve } from './tone.ts';

/**
 * What is kept of a photograph where a slab shows fewer tones than it has. Every one of them lays black on the slab's darkest and white on its
 * lightest, but for `true`, which lets what is out of reach run into the ends.
 */
export const TONE_INTENTS = ['whole', 'faces', 'highlights', 'true'] as const;
export type ToneIntent = (typeof TONE_INTENTS)[number];

/** What a slab shows, L*. */
export interface ToneRange {
  readonly darkest: number;
  readonly lightest: number;
}

/** Share of a picture whose places come out more than a plain step lighter or darker than in the photograph, by bins of its lightness. */
export function changedShare(
  histogram: readonly number[],
  curve: readonly [number, number][],
  range: ToneRange,
): number {
  const share = createToneCurve({ contrast: 0, gamma: 1, intent: [], curve: [...curve] });
  let [changed, all] = [0, 0];
  histogram.forEach((count, bin) => {
    const x = (bin + 0.5) / histogram.length;
    const shown = range.darkest + (range.lightest - range.darkest) * share(x);
    all += count;
    if (Math.abs(shown - 100 * x) > PLAIN_STEP) changed += count;
  });
  return all > 0 ? changed / all : 0;
}

/** L* by which two greys side by side plainly differ; common practice, no published source. */
const PLAIN_STEP = 5;

const POINTS = 17;
/** A steeper middle than this looks like a poster. Estimate. */
const STEEPEST = 2.2;

/**
 * Points of the curve from a photograph's lightness to the share of the slab's range that is wanted for it, both 0–1; empty: evenly.
 *
 * - `whole`: even, so contrast shrinks everywhere alike (perceptual intent with black-point compensation).
 * - `faces`: contrast of the middle as the photograph has it, paid for at both ends (Schlick's gain, see `applyContrast`).
 * - `highlights`: contrast of the lightest tones as the photograph has it, paid for towards the dark (half of the same curve).
 * - `true`: L* itself, clipped (colorimetric intent).
 */
export function intentCurve(intent: ToneIntent, { darkest, lightest }: ToneRange): [number, number][] {
  const slope = Math.min(STEEPEST, Math.max(1, 100 / Math.max(1, lightest - darkest)));
  const contrast = (slope - 1) / (slope + 1);
  // A clipped curve bends at two places, which have to be points.
  const bends = intent === 'true' ? [darkest / 100, lightest / 100].filter((x) => x > 0 && x < 1) : [];
  const even = Array.from({ length: POINTS - bends.length }, (_, i) => i / (POINTS - bends.length - 1));
  const at = [...new Set([...even, ...bends])].sort((a, b) => a - b);
  const shares: Record<Exclude<ToneIntent, 'whole'>, (x: number) => number> = {
    faces: (x) => applyContrast(x, contrast),
    // The upper half is as steep at its end as the whole is flat: turned round, the lower half is steepest there.
    highlights: (x) => 1 - 2 * applyContrast((1 - x) / 2, -contrast),
    true: (x) => Math.min(1, Math.max(0, (100 * x - darkest) / (lightest - darkest))),
  };
  return intent === 'whole' ? [] : at.map((x) => [x, shares[intent](x)]);
}
