import { Cancelled } from '../../base/cancelled.ts';
import { mmPerSToMmPerMin } from '../../base/units.ts';
import { powerAt } from '../../physics/beam/source.ts';
import { usedRunUpMm } from '../../physics/raster/motion.ts';
import type { PassRaster } from '../../physics/raster/pass-raster.ts';
import { feedOf } from '../../physics/raster/pass-time.ts';
import type { RowSpans } from '../../physics/raster/spans.ts';
import type { Piece } from '../../piece/schema.ts';
import { createBedMap, onBed } from './bed-map.ts';
import { closeProgram, openProgram } from './frame.ts';
import { createPowerWords } from './power-words.ts';

/** A pass's screened raster with what its rows travel. */
export interface ScreenedRaster {
  readonly raster: PassRaster;
  readonly levels: Uint8Array;
  readonly mask: Uint8Array;
  readonly spans: RowSpans;
}

/** Part of a file and the share of the file that is done with it. */
export interface FilePart {
  readonly bytes: Uint8Array<ArrayBuffer>;
  readonly share: number;
}

const PART_BYTES = 1 << 16;

/** How each row of a pass is travelled, in dots: the run-up, and how far rows burned backwards are moved. */
export function rowTravel(piece: Piece, index: number): { readonly runUpDots: number; readonly backwardsDots: number } {
  const pass = piece.passes[index];
  const { motion, control } = piece.machine;
  return {
    runUpDots: usedRunUpMm(feedOf(pass, motion), motion) / pass.rowPitchMm,
    backwardsDots: control.correctRowOffset ? -pass.rowOffsetErrorMm / pass.rowPitchMm : 0,
  };
}

/**
 * One pass as a program of RS-274/NGC, part by part: rows in order with run-ups without beam, dots of equal power as one move, long
 * blank stretches and the way between rows at the fastest feed. Words after NISTIR 6556, S in the lines of motion. What must hold of the
 * piece is in `refusals.ts`. Test: read back and simulated by test/helpers/gcode-reader.ts.
 * `notes`: comments besides the usual ones.
 * @throws Cancelled if told to stop.
 */
export function* passProgram(
  piece: Piece,
  index: number,
  screened: ScreenedRaster,
  shouldStop: () => boolean = () => false,
  notes: readonly string[] = [],
): Generator<FilePart, void> {
  const pass = piece.passes[index];
  const { raster, levels, mask, spans } = screened;
  const { first, end, backwards, gaps } = spans;
  const map = createBedMap(piece, raster);
  const power = createPowerWords(piece.machine);
  const stepsAt = Int32Array.from({ length: 256 }, (_, level) => power.steps(powerAt(pass, level)));
  const { runUpDots, backwardsDots } = rowTravel(piece, index);
  const feedMmPerS = feedOf(pass, piece.machine.motion);
  const firstRow = first.findIndex((from, row) => end[row] > from);
  if (firstRow < 0) return;

  const startOf = (row: number) => {
    const u = backwards[row] ? end[row] + runUpDots + backwardsDots : first[row] - runUpDots;
    return onBed(map, u, row + 0.5);
  };
  const writer = openProgram({
    piece,
    titles: [...titlesOf(piece, index, raster), ...notes],
    sDecimals: power.decimals,
    feedMmPerS,
    start: startOf(firstRow),
    beam: true,
  });
  // Inlined over `onBed` below: this runs once per run of dots.
  const [originX, originY] = map.origin;
  const [alongX, alongY] = map.along;
  for (let row = firstRow; row < raster.rows; row++) {
    if (end[row] <= first[row]) continue;
    if (shouldStop()) throw new Cancelled();
    const [startX, startY] = startOf(row);
    writer.rapid(startX, startY);
    const back = backwards[row] === 1;
    const forward = back ? -1 : 1;
    const shift = back ? backwardsDots : 0;
    const rowX = originX + (row + 0.5) * map.across[0];
    const rowY = originY + (row + 0.5) * map.across[1];
    const to = (u: number, steps: number) =>
      writer.travel(rowX + (u + shift) * alongX, rowY + (u + shift) * alongY, steps);
    const leap = (u: number) => writer.rapid(rowX + (u + shift) * alongX, rowY + (u + shift) * alongY);
    const runs = (from: number, until: number) => {
      // Dots from `from` up to `until` in the direction of travel; both are edges of dots.
      let held = -1;
      for (let u = from; u !== until; u += forward) {
        const dot = row * raster.columns + (back ? u - 1 : u);
        const steps = mask[dot] > 0 ? stepsAt[levels[dot]] : 0;
        if (steps !== held && held >= 0) to(u, held);
        held = steps;
      }
      if (held >= 0) to(until, held);
    };
    let at = back ? end[row] : first[row];
    const last = back ? first[row] : end[row];
    to(at, 0);
    const gapFrom = gaps?.start[row] ?? 0;
    const gapEnd = gaps?.start[row + 1] ?? 0;
    for (let i = 0; i < gapEnd - gapFrom; i++) {
      const gap = back ? gapEnd - 1 - i : gapFrom + i;
      const near = back ? gaps!.end[gap] : gaps!.first[gap];
      const far = back ? gaps!.first[gap] : gaps!.end[gap];
      runs(at, near);
      to(near + forward * runUpDots, 0);
      leap(far - forward * runUpDots);
      to(far, 0);
      at = far;
    }
    runs(at, last);
    to(last + forward * runUpDots, 0);
    if (writer.length >= PART_BYTES) yield { bytes: writer.take(), share: (row + 1) / raster.rows };
  }
  closeProgram(writer, piece);
  yield { bytes: writer.take(), share: 1 };
}

function titlesOf({ name, passes }: Piece, index: number, { columns, rows, pitchMm }: PassRaster): string[] {
  const { feedMmPerS } = passes[index];
  return [
    `Foreburn, pass ${index + 1} of ${passes.length}: ${name || 'piece'}`,
    `${(columns * pitchMm).toFixed(1)} x ${(rows * pitchMm).toFixed(1)} mm, ${rows} rows, ${Math.round(mmPerSToMmPerMin(feedMmPerS))} mm/min`,
  ];
}
