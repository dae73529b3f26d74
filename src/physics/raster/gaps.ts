import type { Motion } from '../../piece/schema.ts';
import { fullRunUpMm, travelTimeS, usedRunUpMm } from './motion.ts';

/** A blank stretch inside a row is crossed at the machine's fastest feed where that saves at least so much, s. */
const WORTH_S = 0.1;
const LONGEST_MM = 10_000;

/**
 * Time saved by crossing a blank stretch of a row from rest to rest at the machine's fastest feed, with ramps to and from the feed
 * of the row, over crossing it at that feed: `g/v − 2(v/a + (r − v²/2a)/v) − T(g − 2r)` with run-ups r, s. Never where the run-up is shorter than the ramp, because
 * the beam would come on before the head is up to speed.
 */
export function gapSavingS(gapMm: number, feedMmPerS: number, motion: Motion): number {
  const { accelerationMmPerS2: acceleration, maxFeedMmPerS, runUpMm } = motion;
  const rampMm = fullRunUpMm(feedMmPerS, acceleration);
  const usedMm = usedRunUpMm(feedMmPerS, motion);
  if (runUpMm < rampMm || gapMm <= 2 * usedMm) return 0;
  const ends = 2 * (feedMmPerS / acceleration + (usedMm - rampMm) / feedMmPerS);
  return gapMm / feedMmPerS - ends - travelTimeS(gapMm - 2 * usedMm, maxFeedMmPerS, acceleration);
}

/** Shortest blank stretch that is worth crossing at the fastest feed, mm; infinite where none is. */
export function leastGapMm(feedMmPerS: number, motion: Motion): number {
  if (gapSavingS(LONGEST_MM, feedMmPerS, motion) < WORTH_S) return Number.POSITIVE_INFINITY;
  let low = 0;
  let high = LONGEST_MM;
  for (let i = 0; i < 60; i++) {
    const middle = (low + high) / 2;
    if (gapSavingS(middle, feedMmPerS, motion) < WORTH_S) low = middle;
    else high = middle;
  }
  return high;
}
