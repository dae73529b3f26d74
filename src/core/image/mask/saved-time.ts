import type { Motion, Pass } from '../../piece/schema.ts';
import { passTime } from '../../raster/pass-time.ts';
import { findSpans, type RowSpans } from '../../raster/spans.ts';

export interface SavedTime {
  /** Time of the pass over the whole rectangle and over what the mask lets through, s, and the difference, ≥ 0 in all usual cases. */
  readonly wholeS: number;
  readonly maskedS: number;
  readonly savedS: number;
}

/**
 * Time that a mask saves: the same pass over the full rectangle and over the mask's rows, each from its first dot to its last (holes
 * inside a row save nothing). With two-way rows at one feed that is about the missing length over the feed; an oval in place of its rectangle saves
 * (1 − π/4) W H / (pitch · feed).
 * Source: rows as in `raster/pass-time.ts`. Test: the closed form, and common practice (test/unit/mask-saved-time.test.ts).
 */
export function savedTime(
  mask: Uint8Array,
  columns: number,
  rows: number,
  pitchMm: number,
  pass: Pass,
  motion: Motion,
): SavedTime {
  const twoWay = pass.rows === 'two-way';
  const wholeS = passTime(rectangleSpans(columns, rows, twoWay), pitchMm, pass, motion).timeS;
  const maskedS = passTime(maskSpans(mask, columns, rows, twoWay), pitchMm, pass, motion).timeS;
  return { wholeS, maskedS, savedS: wholeS - maskedS };
}

/** The rows of a mask, from their first to their last dot that is not 0, whatever the picture shows there. */
export const maskSpans = (mask: Uint8Array, columns: number, rows: number, twoWay: boolean): RowSpans =>
  findSpans(mask, mask, columns, rows, () => true, twoWay);

/** The rows of a full rectangle. */
export function rectangleSpans(columns: number, rows: number, twoWay: boolean): RowSpans {
  return {
    first: new Int32Array(rows),
    end: new Int32Array(rows).fill(columns),
    backwards: Uint8Array.from({ length: rows }, (_, row) => (twoWay ? row % 2 : 0)),
  };
}
