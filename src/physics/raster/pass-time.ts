import type { Motion, Pass } from '../../piece/schema.ts';
import { gapSavingS, type PassRaster, type RowSpans, rampFactor, travelTimeS, usedRunUpMm } from './pass-raster.ts';

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
interface RowTravel {
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

/** When each row of a pass is travelled. Arrays hold an entry per travelled row, in the order of travel. */
export interface PassCourse {
  readonly timeS: number;
  /** Time of a run-up. */
  readonly runUpS: number;
  readonly row: Int32Array;
  readonly startS: Float32Array;
  readonly endS: Float32Array;
  /** First dot and one past the last, and 1 where the row is travelled from its end. */
  readonly first: Int32Array;
  readonly end: Int32Array;
  readonly backwards: Uint8Array;
  /** Raster place from a place in the picture, as `PassRaster` has it. */
  readonly raster: Pick<PassRaster, 'row' | 'column' | 'pitchMm'>;
}

/** Where a burn is after some time. */
export interface BurnPlace {
  readonly pass: number;
  /** The row under the head, and where on it in dots; rows before it are burned, those after it are not. */
  readonly row: number;
  readonly column: number;
  readonly forwards: boolean;
  /** Whether the head is over the part of the row that gets power. */
  readonly firing: boolean;
  /** Time since the pass began and until all passes are done, s. */
  readonly passS: number;
  readonly leftS: number;
}

export function passCourse(spans: RowSpans, raster: PassRaster, pass: Pass, motion: Motion): PassCourse {
  const rows: { row: number; startS: number; endS: number }[] = [];
  travelRows(spans, raster.pitchMm, pass, motion, ({ row, startS, endS }) => rows.push({ row, startS, endS }));
  const { row, column, pitchMm } = raster;
  const feed = feedOf(pass, motion);
  const runUpMm = usedRunUpMm(feed, motion);
  return {
    runUpS: (rampFactor(0, runUpMm, feed, motion.accelerationMmPerS2) * runUpMm) / feed,
    timeS: rows.at(-1)?.endS ?? 0,
    row: Int32Array.from(rows, (one) => one.row),
    startS: Float32Array.from(rows, (one) => one.startS),
    endS: Float32Array.from(rows, (one) => one.endS),
    first: Int32Array.from(rows, (one) => spans.first[one.row]),
    end: Int32Array.from(rows, (one) => spans.end[one.row]),
    backwards: Uint8Array.from(rows, (one) => spans.backwards[one.row]),
    raster: { row, column, pitchMm },
  };
}

export const courseTimeS = (courses: readonly PassCourse[]): number =>
  courses.reduce((sum, { timeS }) => sum + timeS, 0);

/**
 * Where the burn is, `seconds` after its first pass began. Passes follow each other at once. Between
 * its run-ups the head moves evenly.
 */
export function burnPlace(courses: readonly PassCourse[], seconds: number): BurnPlace {
  const total = courseTimeS(courses);
  const now = Math.min(total, Math.max(0, seconds));
  let pass = 0;
  let passS = now;
  while (pass < courses.length - 1 && passS >= courses[pass].timeS) {
    passS -= courses[pass].timeS;
    pass++;
  }
  const course = courses[pass];
  const i = lastStarted(course.startS, passS);
  const leftS = total - now;
  if (i < 0) return { pass, row: -1, column: 0, forwards: true, firing: false, passS, leftS };
  const span = course.endS[i] - course.startS[i];
  const share = Math.min(1, (passS - course.startS[i]) / Math.max(span, 1e-6));
  const length = course.end[i] - course.first[i];
  const runUp = Math.min(0.45, course.runUpS / Math.max(span, 1e-6));
  const along = Math.min(1, Math.max(0, (share - runUp) / Math.max(1e-6, 1 - 2 * runUp)));
  const forwards = course.backwards[i] !== 1;
  const column = forwards ? course.first[i] + along * length : course.end[i] - along * length;
  return { pass, row: course.row[i], column, forwards, firing: along > 0 && along < 1, passS, leftS };
}

/** Index of the last row that has started; −1 before the first. */
function lastStarted(startS: Float32Array, time: number): number {
  let low = 0;
  let high = startS.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (startS[middle] <= time) low = middle + 1;
    else high = middle;
  }
  return low - 1;
}
