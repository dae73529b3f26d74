import type { Point } from '../../base/geometry/outline.ts';
import { mmPerSToMmPerMin } from '../../base/units.ts';
import { outputPowerW, powerAt } from '../../physics/beam/gaussian.ts';
import { slabToBed } from '../../physics/bed/bed.ts';
import { type PassRaster, type RowSpans, usedRunUpMm } from '../../physics/raster/pass-raster.ts';
import { feedOf } from '../../physics/raster/pass-time.ts';
import type { Machine, Piece } from '../../piece/schema.ts';
import { closeProgram, createBedMap, onBed, openProgram, pictureCentre } from './frame.ts';

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
 */
export function* passProgram(
  piece: Piece,
  index: number,
  screened: ScreenedRaster,
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

/** Steps that a power scale should at least be told apart in; coarser scales get decimals. */
const LEAST_STEPS = 250;

/** Power as the word S says it: whole steps of 10^−decimals. */
interface PowerWords {
  readonly decimals: number;
  /** The fewest steps at which light comes out, and the most that the limit allows. Light cannot be told where there is none between. */
  readonly least: number;
  readonly most: number;
  /**
   * Steps for a share of full power: nearest, but never above the limit, nothing where no light would come out, and never rounded to below
   * the firing floor.
   */
  steps(share: number): number;
}

/** Least power scale on which powers can still be told apart with six decimals, with room to spare. */
export const LEAST_SCALE = 1;

/** Needs a power scale of at least `LEAST_SCALE`, and `most` no less than `least`. */
export function createPowerWords({ source, control }: Machine): PowerWords {
  const { powerScale, powerLimit } = control;
  const decimals = Math.min(6, Math.max(0, Math.ceil(Math.log10(LEAST_STEPS / powerScale))));
  const perShare = powerScale * 10 ** decimals;
  const least = Math.max(1, Math.ceil(source.firingFloor * perShare - 1e-9));
  const most = Math.floor(powerLimit * perShare + 1e-9);
  return {
    decimals,
    least,
    most,
    steps: (share) =>
      outputPowerW(source, share) > 0 ? Math.min(most, Math.max(least, Math.round(share * perShare))) : 0,
  };
}

/** A box on the bed, mm. */
export interface BedBox {
  readonly left: number;
  readonly right: number;
  readonly near: number;
  readonly far: number;
}

/** The box round places on the bed. */
export function boxAround(places: Iterable<Point>): BedBox {
  let left = Number.POSITIVE_INFINITY;
  let near = Number.POSITIVE_INFINITY;
  let right = Number.NEGATIVE_INFINITY;
  let far = Number.NEGATIVE_INFINITY;
  for (const [x, y] of places) {
    left = Math.min(left, x);
    right = Math.max(right, x);
    near = Math.min(near, y);
    far = Math.max(far, y);
  }
  return { left, right, near, far };
}

/** The box round a closed path that is told in slab places. */
export const slabBox = (piece: Piece, points: readonly Point[]): BedBox =>
  boxAround(points.map((point) => slabToBed(piece.placement, point)));

/** A box that also takes in where the head parks. */
export function withPark(piece: Piece, { left, right, near, far }: BedBox): BedBox {
  if (piece.machine.control.park !== 'picture-centre') return { left, right, near, far };
  return boxAround([[left, near], [right, far], pictureCentre(piece)]);
}

/** All that the head travels over in a pass, run-ups and parking included; null where no row is travelled. */
export function travelBox(piece: Piece, index: number, { raster, spans }: ScreenedRaster): BedBox | null {
  const map = createBedMap(piece, raster);
  const { runUpDots, backwardsDots } = rowTravel(piece, index);
  const ends: Point[] = [];
  for (let row = 0; row < raster.rows; row++) {
    if (spans.end[row] <= spans.first[row]) continue;
    const shift = spans.backwards[row] ? backwardsDots : 0;
    ends.push(onBed(map, spans.first[row] - runUpDots + shift, row + 0.5));
    ends.push(onBed(map, spans.end[row] + runUpDots + shift, row + 0.5));
  }
  return ends.length > 0 ? withPark(piece, boxAround(ends)) : null;
}
