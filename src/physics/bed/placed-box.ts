import type { Point } from '../../base/geometry/point.ts';

/** A picture on the slab as a box that can be moved: middle from the slab's centre (y growing downwards), size before its turn, turn counter-clockwise. */
export interface PlacedBox {
  readonly centreXMm: number;
  readonly centreYMm: number;
  readonly widthMm: number;
  readonly heightMm: number;
  readonly turnRad: number;
}

export const SMALLEST_BOX_MM = 5;
export const LARGEST_BOX_MM = 3000;
/** A box farther off lies on no slab. */
const FARTHEST_MM = 3000;

/** A place told along the box's own sides from its middle (u to the right, v downwards) → from the slab's centre. */
export function fromBox({ centreXMm, centreYMm, turnRad }: PlacedBox, [u, v]: Point): Point {
  const [c, s] = [Math.cos(turnRad), Math.sin(turnRad)];
  return [centreXMm + u * c + v * s, centreYMm - u * s + v * c];
}

/** Top left, top right, bottom right, bottom left, as the picture itself has them. */
export const boxCorners = (box: PlacedBox): readonly [Point, Point, Point, Point] => {
  const [a, b] = [box.widthMm / 2, box.heightMm / 2];
  return [fromBox(box, [-a, -b]), fromBox(box, [a, -b]), fromBox(box, [a, b]), fromBox(box, [-a, b])];
};

/** The edge of the picture as it is cropped, closed, the first place not repeated. */
export function boxEdge(box: PlacedBox, crop: 'rectangle' | 'oval'): readonly Point[] {
  if (crop === 'rectangle') return boxCorners(box);
  return Array.from({ length: OVAL_POINTS }, (_, i) => {
    const t = (2 * Math.PI * i) / OVAL_POINTS;
    return fromBox(box, [(box.widthMm / 2) * Math.cos(t), (box.heightMm / 2) * Math.sin(t)]);
  });
}
const OVAL_POINTS = 72;

/** The box moved; each way for itself it comes to rest on the slab's centre when it gets nearer than `snapMm`. */
export function movedBox(box: PlacedBox, [dxMm, dyMm]: Point, snapMm = 0): PlacedBox {
  const settle = (mm: number) => (Math.abs(mm) < snapMm ? 0 : within(mm, -FARTHEST_MM, FARTHEST_MM));
  return { ...box, centreXMm: settle(box.centreXMm + dxMm), centreYMm: settle(box.centreYMm + dyMm) };
}

/** The box scaled about its middle, within what a picture may measure. */
export function scaledBox(box: PlacedBox, factor: number): PlacedBox {
  const least = SMALLEST_BOX_MM / Math.min(box.widthMm, box.heightMm);
  const most = LARGEST_BOX_MM / Math.max(box.widthMm, box.heightMm);
  const share = Math.max(Math.min(factor, most), Math.min(least, 1));
  return { ...box, widthMm: box.widthMm * share, heightMm: box.heightMm * share };
}

/** The box pulled by a corner (0 top left, clockwise on) to a place; the corner across stays where it is. */
export function pulledBox(box: PlacedBox, corner: 0 | 1 | 2 | 3, to: Point): PlacedBox {
  const corners = boxCorners(box);
  const [from, across] = [corners[corner], corners[(corner + 2) % 4]];
  const [x, y] = [from[0] - across[0], from[1] - across[1]];
  // The place may lie off the diagonal: its foot on it counts.
  const factor = ((to[0] - across[0]) * x + (to[1] - across[1]) * y) / (x * x + y * y);
  const scaled = scaledBox(box, factor);
  const share = scaled.widthMm / box.widthMm;
  return { ...scaled, centreXMm: across[0] + (share * x) / 2, centreYMm: across[1] + (share * y) / 2 };
}

/** The box turned to an angle (−π to π); it comes to rest on quarter turns when it gets nearer than `snapRad`. */
export function turnedBox(box: PlacedBox, turnRad: number, snapRad = 0): PlacedBox {
  const quarter = (Math.round(turnRad / (Math.PI / 2)) * Math.PI) / 2;
  const settled = Math.abs(turnRad - quarter) < snapRad ? quarter : turnRad;
  const turns = Math.round(settled / (2 * Math.PI)) * 2 * Math.PI;
  return { ...box, turnRad: within(settled - turns, -Math.PI, Math.PI) };
}

const within = (value: number, low: number, high: number): number => Math.min(high, Math.max(low, value));
