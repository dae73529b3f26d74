import type { Point } from '../../base/geometry/point.ts';
import { slabToBed } from '../../physics/bed/bed.ts';
import type { Piece } from '../../piece/schema.ts';
import { closeProgram, openProgram } from './frame.ts';
import type { FilePart } from './pass-program.ts';
import { createPowerWords } from './power-words.ts';

/** Slow enough to follow with the eye: 3000 mm/min. */
export const WALK_FEED_MM_PER_S = 50;
/** Before a lap with light and after it the head goes so far along the path without, so that it never stands with the beam on, mm. */
const RUN_UP_MM = 2;

export const walkFeed = (piece: Piece): number => Math.min(WALK_FEED_MM_PER_S, piece.machine.motion.maxFeedMmPerS);

/**
 * One lap along a closed path of slab places, with the beam off or at the placement's pilot power, as a program. Refusals as in
 * `refusals.ts`.
 */
export function* walkProgram(piece: Piece, path: readonly Point[], title: string): Generator<FilePart, void> {
  const { pilotPower } = piece.placement;
  const power = createPowerWords(piece.machine);
  const steps = power.steps(pilotPower);
  const places = path.map((point) => slabToBed(piece.placement, point));
  const lap = [...places, places[0]];
  const beam = steps > 0;
  const light = beam ? `pilot beam at ${Math.round(1000 * pilotPower) / 10} percent` : 'beam off';
  const before = beam ? firstPart(lap.toReversed(), RUN_UP_MM).reverse() : [];
  const after = beam ? firstPart(lap, RUN_UP_MM) : [];
  const [start, ...runUp] = [...before, places[0]];
  const writer = openProgram({
    piece,
    titles: [`Foreburn, ${title}, ${light}: ${piece.name || 'piece'}`],
    sDecimals: power.decimals,
    feedMmPerS: walkFeed(piece),
    start: [start[0], start[1]],
    beam,
  });
  for (const [x, y] of runUp) writer.travel(x, y, 0);
  for (const [x, y] of lap.slice(1)) writer.travel(x, y, steps);
  for (const [x, y] of after) writer.travel(x, y, 0);
  closeProgram(writer, piece);
  yield { bytes: writer.take(), share: 1 };
}

/** Places along a path after its first one, until so far from it along the path, mm. */
function firstPart(path: readonly Point[], mm: number): Point[] {
  const places: Point[] = [];
  let left = mm;
  for (let i = 1; i < path.length && left > 0; i++) {
    const [ax, ay] = path[i - 1];
    const [bx, by] = path[i];
    const length = Math.hypot(bx - ax, by - ay);
    const share = length > left ? left / length : 1;
    places.push([ax + share * (bx - ax), ay + share * (by - ay)]);
    left -= length;
  }
  return places;
}
