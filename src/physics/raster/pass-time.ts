import type { Motion, Pass } from '../../piece/schema.ts';
import { gapSavingS } from './gaps.ts';
import { travelTimeS, usedRunUpMm } from './motion.ts';
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

/** One row as it is travelled. */
export interface RowTravel {
  readonly row: number;
  /** When its run-up starts and when its run-out ends, s after the pass began. */
  readonly startS: number;
  readonly endS: number;
  readonly lengthMm: number;
}

/**
 * Goes through the rows of a pass. Each runs from rest to rest over its span and a run-up on both sides; in between the head moves
 * to the start of the next at the machine's fastest feed, along and across at once. Two-way rows are travelled alternately
 * from either end. Long blank stretches are crossed at the fastest feed too.
 * `backwardsMm`: how far rows travelled backwards are moved.
 */
export function travelRows(
  spans: RowSpans,
  pitchMm: number,
  pass: Pass,
  motion: Motion,
  onRow: (travel: RowTravel) => void,
  backwardsMm = 0,
): void {
  const feed = feedOf(pass, motion);
  const acceleration = motion.accelerationMmPerS2;
  const runUp = usedRunUpMm(feed, motion);
  const { gaps } = spans;
  const rapid = (distanceMm: number) => travelTimeS(distanceMm, motion.maxFeedMmPerS, acceleration);
  let timeS = 0;
  let at: { mm: number; row: number } | null = null;
  for (let row = 0; row < spans.first.length; row++) {
    const lengthMm = (spans.end[row] - spans.first[row]) * pitchMm;
    if (lengthMm <= 0) continue;
    const backwards = spans.backwards[row] === 1;
    const shift = backwards ? backwardsMm : 0;
    const left = spans.first[row] * pitchMm - runUp + shift;
    const right = spans.end[row] * pitchMm + runUp + shift;
    const start = backwards ? right : left;
    if (at) timeS += Math.max(rapid(Math.abs(start - at.mm)), rapid((row - at.row) * pitchMm));
    const startS = timeS;
    timeS += travelTimeS(lengthMm + 2 * runUp, feed, acceleration);
    for (let gap = gaps?.start[row] ?? 0; gap < (gaps?.start[row + 1] ?? 0); gap++) {
      timeS -= gapSavingS((gaps!.end[gap] - gaps!.first[gap]) * pitchMm, feed, motion);
    }
    at = { mm: backwards ? left : right, row };
    onRow({ row, startS, endS: timeS, lengthMm });
  }
}

/** Time of one pass, s. With runs-up as long as the ramps and rows of equal length this is `N (L/v + 2v/a + t)`. */
export function passTime(spans: RowSpans, pitchMm: number, pass: Pass, motion: Motion, backwardsMm = 0): PassTime {
  let timeS = 0;
  let rows = 0;
  let burnedMm = 0;
  travelRows(
    spans,
    pitchMm,
    pass,
    motion,
    (travel) => {
      timeS = travel.endS;
      rows++;
      burnedMm += travel.lengthMm;
    },
    backwardsMm,
  );
  return { timeS, rows, burnedMm };
}
