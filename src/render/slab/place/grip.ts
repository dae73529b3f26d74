import { movedBox, type PlacedBox, pulledBox, turnedBox } from '../../../physics/bed/placed-box.ts';

type Place = readonly [number, number];
/** What of the frame is held: its middle, a corner (0 top left, clockwise on), or the handle that turns it. */
export type Part = 'whole' | 'turn' | 0 | 1 | 2 | 3;

/** A hold on the frame: the box and the place on the slab, mm, where the drag began. */
export interface Grip {
  readonly part: Part;
  readonly box: PlacedBox;
  readonly from: Place;
}

export interface Snapping {
  /** How near to the middle it comes to rest there, and to straight. */
  readonly mm: number;
  readonly rad: number;
}
export const NO_SNAPPING: Snapping = { mm: 0, rad: 0 };

/** The box once what is held has been dragged to a place. */
export function draggedBox({ part, box, from }: Grip, to: Place, snap: Snapping): PlacedBox {
  if (part === 'whole') return movedBox(box, [to[0] - from[0], to[1] - from[1]], snap.mm);
  if (part === 'turn') {
    // y grows downwards, turns run counter-clockwise.
    const angle = ([x, y]: Place) => -Math.atan2(y - box.centreYMm, x - box.centreXMm);
    return turnedBox(box, box.turnRad + angle(to) - angle(from), snap.rad);
  }
  return pulledBox(box, part, to);
}
