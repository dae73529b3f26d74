import type { Point } from '../../base/geometry/point.ts';
import { signedDistanceMm } from '../../base/geometry/signed-distance.ts';
import { picturePerimeter } from '../../physics/bed/perimeter.ts';
import { createFace } from '../../physics/raster/face.ts';
import type { Piece } from '../../piece/schema.ts';

/** Half the length of the cross's arms, mm. */
export const MARK_ARM_MM = 2;
/** Distance that the cross's middle must have to the picture and to the rim, mm. */
export const MARK_NEEDS_MM = 3;
const DIRECTIONS = 32;
const STEP_MM = 0.5;

export interface MarkPlace {
  /** In slab places, mm. */
  readonly place: Point;
  /** Distance to the picture's edge or the paintable area's rim, whichever is nearer, mm. */
  readonly roomMm: number;
}

/**
 * Where a small cross has most room in the margin between the picture's edge and the slab's rim, looking from the picture's centre in
 * all directions. Null where the picture covers all of the slab.
 */
export function referenceMarkPlace(piece: Piece, photo: { width: number; height: number }): MarkPlace | null {
  const face = createFace(piece.slab);
  const edge = picturePerimeter(piece.picture, photo);
  const { offsetXMm, offsetYMm } = piece.picture;
  const farMm = Math.hypot(piece.slab.widthMm, piece.slab.heightMm);
  let best: MarkPlace | null = null;
  for (let i = 0; i < DIRECTIONS; i++) {
    const turn = (2 * Math.PI * i) / DIRECTIONS;
    for (let mm = 0; mm <= farMm; mm += STEP_MM) {
      const place: Point = [offsetXMm + mm * Math.cos(turn), offsetYMm + mm * Math.sin(turn)];
      const toRimMm = face.rimDistanceMm(place[0], place[1]) - piece.slab.maskedRimMm;
      if (toRimMm <= (best?.roomMm ?? 0)) continue;
      const roomMm = Math.min(toRimMm, -signedDistanceMm(edge, place));
      if (roomMm > (best?.roomMm ?? 0) + 1e-6) best = { place, roomMm };
    }
  }
  return best;
}

/** The cross's two strokes in slab places. */
export const markStrokes = ([x, y]: Point): readonly (readonly [Point, Point])[] => [
  [
    [x - MARK_ARM_MM, y],
    [x + MARK_ARM_MM, y],
  ],
  [
    [x, y + MARK_ARM_MM],
    [x, y - MARK_ARM_MM],
  ],
];

/** A closed path along both strokes, to find the mark again with the pilot beam. */
export const markPath = (place: Point): readonly Point[] => {
  const [[left, right], [near, far]] = markStrokes(place);
  return [left, right, place, near, far, place];
};
