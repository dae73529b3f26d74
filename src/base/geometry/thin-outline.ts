import { findCrossing } from './crossing.ts';
import type { Point, Polygon } from './point.ts';
import { perimeterMm } from './polygon.ts';
import { resampleOutline } from './resample-outline.ts';
import { simplifyOutline } from './simplify.ts';

/** Points that the line itself may take, and those that long straight pieces get on top of it. */
const CURVED = 250;
const STRAIGHT = 150;
const TOLERANCES_MM = [0.02, 0.05, 0.1, 0.2, 0.4, 0.8, 1.6];

/**
 * An outline of at most 400 points without long edges, so that a handle that is moved bends its neighbourhood. Off by as little as
 * that allows, 1.6 mm at most; a line that still has too many points, or crosses itself then, becomes 400 points at even distances.
 */
export function thinOutline(outline: Polygon): Polygon {
  for (const tolerance of TOLERANCES_MM) {
    const line = simplifyOutline(outline, tolerance);
    if (line.length <= CURVED && !findCrossing(line)) return withoutLongEdges(line, perimeterMm(line) / STRAIGHT);
  }
  return resampleOutline(outline, perimeterMm(outline) / (CURVED + STRAIGHT));
}

function withoutLongEdges(line: Polygon, longestMm: number): Polygon {
  return line.flatMap(([x, y], i): Point[] => {
    const [nextX, nextY] = line[(i + 1) % line.length];
    const parts = Math.max(1, Math.floor(Math.hypot(nextX - x, nextY - y) / longestMm));
    return Array.from({ length: parts }, (_, k): Point => {
      const share = k / parts;
      return [x + share * (nextX - x), y + share * (nextY - y)];
    });
  });
}
