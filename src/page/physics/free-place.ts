import type { Slab } from '../../piece/schema.ts';

interface Place {
  readonly xMm: number;
  readonly yMm: number;
}

const ROWS = [0, -0.2, 0.2, -0.1, 0.1, -0.3, 0.3];

/** A place on the slab, on one side of its middle if there is room, that is this far from all that is there already. */
export function freePlace(slab: Slab, side: 'left' | 'right', taken: readonly Place[], apartMm: number): Place {
  const sign = side === 'left' ? -1 : 1;
  const places = [0.2, 0.06, -0.06, -0.2].flatMap((column) =>
    ROWS.map((row) => ({ xMm: Math.round(sign * column * slab.widthMm), yMm: Math.round(row * slab.heightMm) })),
  );
  const nearest = (place: Place) =>
    Math.min(...taken.map(({ xMm, yMm }) => Math.hypot(xMm - place.xMm, yMm - place.yMm)));
  const free = places.find((place) => nearest(place) >= apartMm);
  return free ?? places.reduce((best, place) => (nearest(place) > nearest(best) ? place : best));
}
