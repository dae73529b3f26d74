import type { Body } from './body.ts';
import type { Point } from './shapes.ts';

/** Where the foot of the mast meets the water, how the barge is turned (bow right and a little towards us), and its size. */
const BARGE = { x: -5.9, z: 46, turnRad: -0.2, scale: 0.92 } as const;
const COS = Math.cos(BARGE.turnRad) / BARGE.scale;
const SIN = Math.sin(BARGE.turnRad) / BARGE.scale;
export const localA = (x: number, z: number): number => COS * (x - BARGE.x) + SIN * (z - BARGE.z);
export const localC = (x: number, z: number): number => -SIN * (x - BARGE.x) + COS * (z - BARGE.z);

/** From the barge's own axes (a to the bow, y up, c away from us) to the scene. */
export function bargeToScene([a, y, c]: Point): Point {
  const s = BARGE.scale * BARGE.scale;
  return [BARGE.x + s * (COS * a - SIN * c), BARGE.scale * y, BARGE.z + s * (SIN * a + COS * c)];
}

type Distance = (a: number, y: number, c: number) => number;

/** A body described in barge axes, inside the box from `low` to `high`. */
export function bargeBody(low: Point, high: Point, distance: Distance, rest: Pick<Body, 'paint' | 'relief'>): Body {
  const corners = [low, high, [low[0], low[1], high[2]], [high[0], high[1], low[2]]].map((p) =>
    bargeToScene(p as Point),
  );
  const extreme = (axis: number, pick: (...values: number[]) => number) => pick(...corners.map((p) => p[axis]));
  return {
    low: [extreme(0, Math.min), extreme(1, Math.min), extreme(2, Math.min)],
    high: [extreme(0, Math.max), extreme(1, Math.max), extreme(2, Math.max)],
    distance: (x, y, z) => BARGE.scale * distance(localA(x, z), localY(y), localC(x, z)),
    ...rest,
  };
}

/** Height in barge axes. */
export const localY = (y: number): number => y / BARGE.scale;
