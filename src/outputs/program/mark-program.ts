import type { Point } from '../../base/geometry/point.ts';
import { slabToBed } from '../../physics/bed/bed.ts';
import { usedRunUpMm } from '../../physics/raster/motion.ts';
import { feedOf } from '../../physics/raster/pass-time.ts';
import type { Piece } from '../../piece/schema.ts';
import { closeProgram, openProgram } from './frame.ts';
import type { FilePart } from './pass-program.ts';
import { createPowerWords } from './power-words.ts';
import { markStrokes } from './reference-mark.ts';

/** Places on the bed that a stroke is travelled over, mm: start of the run-up, both ends, end of the run-out. */
export function strokeOnBed(piece: Piece, [from, to]: readonly [Point, Point]): readonly (readonly [number, number])[] {
  const { motion } = piece.machine;
  const runUpMm = usedRunUpMm(feedOf(piece.passes[0], motion), motion);
  const a = slabToBed(piece.placement, from);
  const b = slabToBed(piece.placement, to);
  const share = runUpMm / Math.hypot(b[0] - a[0], b[1] - a[1]);
  const beyond = (at: readonly number[], sign: number): [number, number] => [
    at[0] + sign * share * (b[0] - a[0]),
    at[1] + sign * share * (b[1] - a[1]),
  ];
  return [beyond(a, -1), a, b, beyond(b, 1)];
}

/** The reference mark as a program: two strokes at the first pass's strongest power and feed. */
export function* markProgram(piece: Piece, place: Point): Generator<FilePart, void> {
  const [pass] = piece.passes;
  const power = createPowerWords(piece.machine);
  const steps = power.steps(Math.max(pass.lightEndPower, pass.darkEndPower));
  const strokes = markStrokes(place).map((stroke) => strokeOnBed(piece, stroke));
  const writer = openProgram({
    piece,
    titles: [`Foreburn, reference mark: ${piece.name || 'piece'}`],
    sDecimals: power.decimals,
    feedMmPerS: feedOf(pass, piece.machine.motion),
    start: [strokes[0][0][0], strokes[0][0][1]],
    beam: true,
  });
  for (const [start, from, to, end] of strokes) {
    writer.rapid(start[0], start[1]);
    writer.travel(from[0], from[1], 0);
    writer.travel(to[0], to[1], steps);
    writer.travel(end[0], end[1], 0);
  }
  closeProgram(writer, piece);
  yield { bytes: writer.take(), share: 1 };
}
