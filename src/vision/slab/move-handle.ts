import { type Crossing, findCrossing } from '../../base/geometry/crossing.ts';
import type { Point, Polygon } from '../../base/geometry/point.ts';

export interface HandleMove {
  readonly dxMm: number;
  readonly dyMm: number;
  /** How far along the outline, either way, its neighbours follow; 0 moves the one point alone. */
  readonly reachMm: number;
}

/**
 * Moves one point of an outline; its neighbours follow by ½ (1 + cos π s / reach), s being their distance along the outline, the
 * shorter way. Says where the outline then crosses itself, so that the page can show it and hold it back.
 * @throws RangeError if there is no such point or a number is not finite.
 */
export function moveHandle(
  polygon: Polygon,
  index: number,
  move: HandleMove,
): { readonly outline: Polygon; readonly crossing: Crossing | null } {
  const n = polygon.length;
  if (!(Number.isInteger(index) && index >= 0 && index < n)) throw new RangeError(`the outline has no point ${index}`);
  const { dxMm, dyMm, reachMm } = move;
  if (!(Number.isFinite(dxMm) && Number.isFinite(dyMm) && reachMm >= 0)) {
    throw new RangeError('a handle is moved by two numbers of mm, its neighbours over a reach of at least 0 mm');
  }
  const along = new Float64Array(n).fill(Number.POSITIVE_INFINITY);
  along[index] = 0;
  for (const way of [1, n - 1]) {
    let walked = 0;
    for (let k = 1, at = index; k < n && walked < reachMm; k++) {
      const next = (at + way) % n;
      walked += Math.hypot(polygon[next][0] - polygon[at][0], polygon[next][1] - polygon[at][1]);
      along[next] = Math.min(along[next], walked);
      at = next;
    }
  }
  const outline = polygon.map(([x, y], i): Point => {
    if (i !== index && !(along[i] < reachMm)) return [x, y];
    const follow = i === index ? 1 : (1 + Math.cos((Math.PI * along[i]) / reachMm)) / 2;
    return [x + follow * dxMm, y + follow * dyMm];
  });
  return { outline, crossing: findCrossing(outline) };
}
