import type { Point } from '../../base/geometry/point.ts';
import type { Piece } from '../../piece/schema.ts';
import { PROGRAM_CAUTIONS } from '../paper/cautions.ts';
import { pictureCentre } from './bed-map.ts';
import { extraLines } from './extra-words.ts';
import { ProgramWriter } from './program-writer.ts';

export interface ProgramFrame {
  readonly piece: Piece;
  /** What the program does, a line each; cut off where too long. */
  readonly titles: readonly string[];
  readonly sDecimals: number;
  /** Feed of the beam's work, mm/s. */
  readonly feedMmPerS: number;
  /** Where the work begins on the bed, mm. */
  readonly start: readonly [number, number];
  /** Never allowed at all where false. */
  readonly beam: boolean;
}

/** A program from its first line, which switches the beam off, to where the work begins, with the beam allowed at no power. */
export function openProgram({ piece, titles, sDecimals, feedMmPerS, start, beam }: ProgramFrame): ProgramWriter {
  const { control } = piece.machine;
  const writer = new ProgramWriter(control, sDecimals, zeroOnBed(piece));
  writer.line('M5');
  writer.line(`G${control.units === 'inch' ? 20 : 21} G90 G94`);
  for (const title of [...titles, ...PROGRAM_CAUTIONS]) writer.comment(title);
  if (control.zero === 'picture-centre') writer.line('G92 X0 Y0');
  for (const line of extraLines(control.startWords)) writer.line(line);
  writer.feed(feedMmPerS);
  if (beam && !control.powerAtRest) writer.travel(start[0], start[1], 0);
  else writer.rapid(start[0], start[1]);
  if (beam) writer.allowBeam();
  return writer;
}

/** The place on the bed that the program's positions count from, mm. */
export const zeroOnBed = (piece: Piece): Point =>
  piece.machine.control.zero === 'picture-centre' ? pictureCentre(piece) : [0, 0];

/** Beam off, head to where it parks, end. What comes before must have left S at 0. */
export function closeProgram(writer: ProgramWriter, piece: Piece): void {
  const { control } = piece.machine;
  writer.line('M5');
  const [x, y] = control.park === 'bed-corner' ? [0, 0] : pictureCentre(piece);
  if (control.park !== 'stay') writer.rapid(x, y);
  for (const line of extraLines(control.endWords)) writer.line(line);
  if (control.zero === 'picture-centre') writer.line('G92.1');
  writer.line('M2');
}
