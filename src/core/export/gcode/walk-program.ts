import type { Piece } from '../../piece/schema.ts';
import { slabToBed } from '../../placement/bed.ts';
import type { Point } from '../../slab/point.ts';
import { closeProgram, openProgram } from './frame.ts';
import type { FilePart } from './pass-program.ts';
import { createPowerWords } from './power-words.ts';

/** Slow enough to follow with the eye: 3000 mm/min. */
export const WALK_FEED_MM_PER_S = 50;
/** After a lap with light the head goes on so far without it, so that it does not stop with the beam on, mm. */
const RUN_OUT_MM = 2;

/**
 * One lap along a closed path of slab places, with the beam off or at the placement's pilot power, as a program. Refusals as in
 * `refusals.ts`.
 */
export function* walkProgram(piece: Piece, path: readonly Point[], title: string): Generator<FilePart, void> {
  const { pilotPower } = piece.placement;
  const power = createPowerWords(piece.machine);
  const steps = power.steps(pilotPower);
  const places = path.map((point) => slabToBed(piece.placement, point));
  const [first, second] = places;
  const beam = steps > 0;
  const light = beam ? `pilot beam at ${Math.round(1000 * pilotPower) / 10} %` : 'beam off';
  const writer = openProgram({
    piece,
    titles: [`Foreburn: ${piece.name || 'piece'}, ${title}, ${light}`],
    sDecimals: power.decimals,
    feedMmPerS: Math.min(WALK_FEED_MM_PER_S, piece.machine.motion.maxFeedMmPerS),
    start: first,
    beam,
  });
  const words = beam ? steps : Number.NaN;
  for (const [x, y] of [...places.slice(1), first]) writer.travel(x, y, words);
  if (beam) {
    const length = Math.hypot(second[0] - first[0], second[1] - first[1]);
    const share = Math.min(1, RUN_OUT_MM / length);
    writer.travel(first[0] + share * (second[0] - first[0]), first[1] + share * (second[1] - first[1]), 0);
  }
  closeProgram(writer, piece);
  yield { bytes: writer.take(), share: 1 };
}
