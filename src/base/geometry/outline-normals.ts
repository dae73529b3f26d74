import type { Point, Polygon } from './point.ts';

/** Unit vectors that point into a clockwise outline at its points, from the chord between each point's neighbours. */
export const inwardNormals = (polygon: Polygon): Point[] =>
  polygon.map((_, i) => {
    const before = polygon[(i + polygon.length - 1) % polygon.length];
    const after = polygon[(i + 1) % polygon.length];
    const tx = after[0] - before[0];
    const ty = after[1] - before[1];
    const length = Math.hypot(tx, ty) || 1;
    return [-ty / length, tx / length];
  });
