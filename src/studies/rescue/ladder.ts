import { CLEARED_SHARE } from '../../burn/clearing.ts';
import type { Pass } from '../../piece/schema.ts';
import { JUST_SHOWS, PLAINLY_SHOWS } from '../sure/seen-difference.ts';
import { type Weighted, weightedMean } from '../sure/weighted.ts';
import type { Draw } from './draws.ts';
import type { RescueSample } from './rescue-sample.ts';
import { changeAt, clearOdds, type TriedPower, tryPass, unscorchedOdds } from './try-powers.ts';

/** One power to try on an edge of the picture, and what it is likely to do there. */
export interface Rung {
  readonly power: number;
  /** Share of the draws that are clear without it. */
  readonly cleared: number;
  /** ΔE00 of the light areas that half of the draws exceed. */
  readonly change: number;
  readonly clears: number;
  readonly scorches: number;
  readonly words: string;
}

const STEPS = [0.0025, 0.005, 0.01, 0.02, 0.025, 0.05, 0.1, 0.2];
const RUNGS = 6;
/** A ladder starts at this share of the power that just shows. */
const START_SHARE = 0.7;

/** Steps of power from below what shows at all to a little over the proposal. @throws Cancelled if told to stop. */
export async function makeLadder(
  sample: RescueSample,
  draws: readonly Weighted<Draw>[],
  pass: Pass,
  tried: readonly TriedPower[],
): Promise<Rung[]> {
  const rungs: Rung[] = [];
  for (const power of ladderPowers(showingPower(tried, pass.lightEndPower), pass.lightEndPower)) {
    const outcomes = await tryPass(sample, draws, { ...pass, lightEndPower: power, only: null });
    const rung = {
      power,
      cleared: weightedMean(
        outcomes.map(({ value, weight }) => ({ value: value.before.uncleared < CLEARED_SHARE ? 1 : 0, weight })),
      ),
      change: changeAt(outcomes, 'lightRgb', 0.5),
      clears: clearOdds(outcomes),
      scorches: 1 - unscorchedOdds(outcomes),
    };
    rungs.push({ ...rung, words: rungWords(rung) });
  }
  return rungs;
}

/** Power from which the light areas change visibly in half of the draws, between the powers tried; half the proposal if none shows. */
function showingPower(tried: readonly TriedPower[], proposed: number): number {
  let before = { power: 0, change: 0 };
  for (const { power, outcomes } of tried) {
    const change = changeAt(outcomes, 'lightRgb', 0.5);
    if (change >= JUST_SHOWS) {
      return before.power + ((JUST_SHOWS - before.change) / (change - before.change)) * (power - before.power);
    }
    before = { power, change };
  }
  return proposed / 2;
}

/** Round powers, `RUNGS` of them or one more or less. */
export function ladderPowers(showing: number, proposed: number): number[] {
  const span = Math.max(0.01, proposed - START_SHARE * showing);
  const step = STEPS.find((one) => one >= span / (RUNGS - 1) - 1e-9) ?? STEPS[STEPS.length - 1];
  const first = Math.max(1, Math.floor((START_SHARE * showing) / step));
  const powers: number[] = [];
  for (let i = first; powers.length < RUNGS + 1; i++) {
    const power = Math.round(1e4 * i * step) / 1e4;
    if (power > 1) break;
    powers.push(power);
    if (power > proposed + 1e-9 && powers.length >= RUNGS - 1) break;
  }
  return powers;
}

function rungWords({ change, clears, cleared, scorches }: Omit<Rung, 'words'>): string {
  const scorching = scorches >= 0.5 ? ', and scorches' : scorches >= 0.1 ? ', and may scorch' : '';
  if (change < JUST_SHOWS / 2 && clears - cleared < 0.05) return 'Does nothing one can see.';
  if (clears >= 0.95) return `Clears${scorching}.`;
  if (change < PLAINLY_SHOWS && clears - cleared < 0.1) return 'Just shows.';
  if (clears < 0.05) return `Opens the light areas further, still blotchy${scorching}.`;
  return `Clears in ${Math.max(1, Math.round(10 * clears))} of 10 cases${scorching}.`;
}
