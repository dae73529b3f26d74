import type { Motion, Pass } from '../piece/schema.ts';
import { fullRunUpMm, travelTimeS } from './motion.ts';
import type { RowSpans } from './spans.ts';

/** Feed of a pass, mm/s: it moves no faster than the machine can. */
export const feedOf = (pass: Pass, motion: Motion): number => Math.min(pass.feedMmPerS, motion.maxFeedMmPerS);

export interface PassTime {
  readonly timeS: number;
  /** Rows that are travelled. */
  readonly rows: number;
  /** Length of the rows at feed, run-ups left out, mm. */
  readonly burnedMm: number;
}

/**
 * Time of one pass, s. Each row runs from rest to rest over its span and a run-up on both sides; in between the head moves to
 * the start of the next row at the machine's fastest feed, along and across at once. Two-way rows are travelled alternately
 * from either end. With runs-up as long as the ramps and rows of equal length this is `N (L/v + 2v/a + t)`.
 */
export function passTime(spans: RowSpans, pitchMm: number, pass: Pass, motion: Motion): PassTime {
  const feed = feedOf(pass, motion);
  const acceleration = motion.accelerationMmPerS2;
  const runUp = Math.min(motion.runUpMm, fullRunUpMm(feed, acceleration));
  const rapid = (distanceMm: number) => travelTimeS(distanceMm, motion.maxFeedMmPerS, acceleration);
  let timeS = 0;
  let rows = 0;
  let burnedMm = 0;
  let at: { mm: number; row: number } | null = null;
  for (let r = 0; r < spans.first.length; r++) {
    const lengthMm = (spans.end[r] - spans.first[r]) * pitchMm;
    if (lengthMm <= 0) continue;
    const left = spans.first[r] * pitchMm - runUp;
    const right = spans.end[r] * pitchMm + runUp;
    const backwards = spans.backwards[r] === 1;
    const start = backwards ? right : left;
    if (at) timeS += Math.max(rapid(Math.abs(start - at.mm)), rapid((r - at.row) * pitchMm));
    timeS += travelTimeS(lengthMm + 2 * runUp, feed, acceleration);
    at = { mm: backwards ? left : right, row: r };
    rows++;
    burnedMm += lengthMm;
  }
  return { timeS, rows, burnedMm };
}
