import type { Motion, Pass } from '../../piece/schema.ts';
import { rampFactor, usedRunUpMm } from './motion.ts';
import type { PassRaster } from './pass-raster.ts';
import { feedOf, travelRows } from './pass-time.ts';
import type { RowSpans } from './spans.ts';

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
