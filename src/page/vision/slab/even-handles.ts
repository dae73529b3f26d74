import type { Polygon } from '../../../base/geometry/point.ts';
import { perimeterMm } from '../../../base/geometry/polygon.ts';

/** Numbers of points of an outline that lie about evenly along it, the first one included; fewer if it has fewer points. */
export function evenHandles(outline: Polygon, count: number): number[] {
  const step = perimeterMm(outline) / count;
  const chosen: number[] = [];
  let walked = 0;
  outline.forEach(([x, y], i) => {
    if (chosen.length < count && walked >= chosen.length * step - 1e-9) chosen.push(i);
    const [nextX, nextY] = outline[(i + 1) % outline.length];
    walked += Math.hypot(nextX - x, nextY - y);
  });
  return chosen;
}
