import type { Photo } from '../../burn/prepare.ts';
import { burnPlace } from '../../physics/raster/burn-clock.ts';
import type { Piece } from '../../piece/schema.ts';
import type { RescueTools } from '../../studies/rescue/rescue-scene.ts';
import { createBedMap, onBed } from './bed-map.ts';
import { burnCourse } from './burn-course.ts';
import { zeroOnBed } from './frame.ts';
import { JobRefused } from './mend.ts';
import { type PauseEffect, pauseEffect } from './pause-effect.ts';
import { fromRowRefusals } from './refusals.ts';

const SECONDS_PER_MINUTE = 60;

/** Where a burn broke off: at a row, counted from 1; after so many minutes of the pass; or where the head stood, as the controller shows it. */
export type BrokeOff =
  | { readonly kind: 'row'; readonly row: number }
  | { readonly kind: 'minute'; readonly minute: number }
  | { readonly kind: 'place'; readonly xMm: number; readonly yMm: number };

/** A burn taken up from a row. */
export interface TakeUp {
  /** Row to go on from, counted from 1, of so many. */
  readonly row: number;
  readonly rows: number;
  /** How far the row lies from the picture's edge where the burn began, mm. */
  readonly fromEdgeMm: number;
  /** Ends of the row as it burns, in the program's positions, in the direction of travel, mm. */
  readonly from: readonly [number, number];
  readonly to: readonly [number, number];
  /** How long the pass has burned before this row and how long it still will, s. */
  readonly burnedS: number;
  readonly leftS: number;
  readonly pauseS: number;
  /** What the pause does to the rows after it. */
  readonly effect: PauseEffect;
}

/**
 * Finds the row from which a burn is taken up and what the pause does to the heat that rows leave for the next.
 * @throws JobRefused where no row is left there; Cancelled.
 */
export async function takeUp(
  piece: Piece,
  photo: Photo,
  index: number,
  at: BrokeOff,
  pauseS: number,
  { coarse, appearance, runner }: Pick<RescueTools, 'coarse' | 'appearance' | 'runner'>,
  shouldStop: () => boolean = () => false,
): Promise<TakeUp> {
  const { courses, screened } = burnCourse(piece, photo, shouldStop);
  const { raster, spans } = screened[index];
  const course = courses[index];
  const map = createBedMap(piece, raster);
  const [zeroX, zeroY] = zeroOnBed(piece);
  const wanted = () => {
    if (at.kind === 'row') return at.row - 1;
    if (at.kind === 'minute') return burnPlace([course], at.minute * SECONDS_PER_MINUTE).row;
    const [acrossX, acrossY] = map.across;
    const dots = (at.xMm + zeroX - map.origin[0]) * acrossX + (at.yMm + zeroY - map.origin[1]) * acrossY;
    return Math.floor(dots / (acrossX * acrossX + acrossY * acrossY));
  };
  const asked = wanted();
  const last = course.row.at(-1) ?? -1;
  const refusals = fromRowRefusals(piece, index, asked + 1, last + 1);
  if (refusals.length > 0) throw new JobRefused(refusals);
  // Rows that burn nothing are passed over.
  const i = course.row.findIndex((row) => row >= asked);
  const row = course.row[i];
  const place = (u: number): [number, number] => {
    const [x, y] = onBed(map, u, row + 0.5);
    return [x - zeroX, y - zeroY];
  };
  const ends = [place(spans.first[row]), place(spans.end[row])] as const;
  const [from, to] = spans.backwards[row] ? [ends[1], ends[0]] : ends;
  const burnedS = course.startS[i];
  const pause = { atS: burnedS, lengthS: pauseS };
  const effect = await pauseEffect(
    piece,
    index,
    pause,
    screened,
    coarse.scene(piece, photo),
    appearance(piece),
    runner,
  );
  return {
    row: row + 1,
    rows: raster.rows,
    fromEdgeMm: row * raster.pitchMm,
    from,
    to,
    burnedS,
    leftS: course.timeS - burnedS,
    pauseS,
    effect,
  };
}
