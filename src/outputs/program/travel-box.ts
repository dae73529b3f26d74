import type { Point } from '../../base/geometry/point.ts';
import { slabToBed } from '../../physics/bed/bed.ts';
import type { Piece } from '../../piece/schema.ts';
import { createBedMap, onBed, pictureCentre } from './bed-map.ts';
import { rowTravel, type ScreenedRaster } from './pass-program.ts';

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
