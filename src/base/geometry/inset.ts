import { largestFilled } from './component.ts';
import { findCrossing } from './crossing.ts';
import { maskWhere } from './mask-where.ts';
import type { Point, Polygon } from './point.ts';
import { boundsMm, clockwise } from './polygon.ts';
import { simplifyOutline } from './simplify.ts';
import { traceBoundary } from './trace-boundary.ts';

/** Cells along the longer side of the grid of distances. */
const CELLS = 360;
/** Distance by which the new line may be off after it has been thinned out, mm. */
const TOLERANCE_MM = 0.02;

/**
 * The outline drawn inwards (outwards for a negative inset): the line along which the distance to the outline is the inset. Found on
 * a grid of distances, read linearly between its cells, so it never crosses itself; where it falls into parts the largest is kept, and
 * loops are dropped.
 * Error: 0.03 mm for slabs of up to 300 mm, 1e-4 of the longer side beyond, but for corners of the new line, which are cut by up to a
 * cell (1/360 of the longer side).
 * @param inset mm, one number or one per point of the outline (read linearly along its edges; slow changes only).
 * Test: circles and squares in test/unit/slab-outline.test.ts.
 * @throws RangeError if nothing is left or the insets are not as many as the points.
 */
export function insetOutline(polygon: Polygon, inset: number | ArrayLike<number>): Polygon {
  const insets = typeof inset === 'number' ? new Array<number>(polygon.length).fill(inset) : Array.from(inset);
  if (insets.length !== polygon.length) {
    throw new RangeError(`an outline of ${polygon.length} points cannot take ${insets.length} insets`);
  }
  if (!insets.every(Number.isFinite)) throw new RangeError('every inset must be a number of mm');
  const outwards = Math.max(0, -Math.min(...insets));
  const box = boundsMm(polygon);
  const cell = Math.max(box.right - box.left, box.bottom - box.top, 1e-6) / CELLS;
  const rim = 2 + Math.ceil(outwards / cell);
  const width = Math.ceil((box.right - box.left) / cell) + 2 * rim;
  const height = Math.ceil((box.bottom - box.top) / cell) + 2 * rim;
  const left = box.left - rim * cell;
  const top = box.top - rim * cell;
  const measure = createMeasure(polygon, insets);
  const reach = cell * steepness(polygon, insets);
  const field = new Float64Array(width * height);
  for (let j = 0; j < height; j++) {
    for (let i = 0; i < width; i++) {
      // The measure changes by no more than this from cell to cell: far from the line the next cells need no look of their own.
      const value = measure(left + (i + 0.5) * cell, top + (j + 0.5) * cell);
      field[j * width + i] = value;
      const skip = Math.min(width - 1 - i, Math.floor(Math.abs(value) / reach) - 2);
      for (let k = 1; k <= skip; k++) field[j * width + i + k] = value;
      if (skip > 0) i += skip;
    }
  }
  const part = largestFilled(
    maskWhere(field.length, (i) => field[i] > 0),
    width,
    height,
  );
  if (!part) throw new RangeError('nothing of the slab is left inside this margin: make it narrower');
  const traced = traceBoundary(part.mask, field, width, height, 0).map(
    ([x, y]): Point => [left + x * cell, top + y * cell],
  );
  const thinned = simplifyOutline(traced, TOLERANCE_MM);
  return clockwise(findCrossing(thinned) ? traced : thinned);
}

type Measure = (x: number, y: number) => number;

/** What lies between a point and the new line: distance to the outline less the inset there; less than zero outside. */
function createMeasure(polygon: Polygon, insets: readonly number[]): Measure {
  const n = polygon.length;
  // Start, way, 1 / length², inset, change of inset: seven numbers to an edge, flat for speed.
  const edges = new Float64Array(7 * n);
  polygon.forEach(([x, y], i) => {
    const next = (i + 1) % n;
    const ux = polygon[next][0] - x;
    const uy = polygon[next][1] - y;
    const square = ux * ux + uy * uy;
    edges.set([x, y, ux, uy, square > 0 ? 1 / square : 0, insets[i], insets[next] - insets[i]], 7 * i);
  });
  return (x, y) => {
    let inside = false;
    let within = Number.POSITIVE_INFINITY;
    let beyond = Number.POSITIVE_INFINITY;
    for (let e = 0; e < edges.length; e += 7) {
      const px = x - edges[e];
      const py = y - edges[e + 1];
      const ux = edges[e + 2];
      const uy = edges[e + 3];
      if (py < 0 !== py < uy && px < (py / uy) * ux) inside = !inside;
      const along = Math.min(1, Math.max(0, (px * ux + py * uy) * edges[e + 4]));
      const dx = px - along * ux;
      const dy = py - along * uy;
      const distance = Math.sqrt(dx * dx + dy * dy);
      const there = edges[e + 5] + along * edges[e + 6];
      if (distance - there < within) within = distance - there;
      if (distance + there < beyond) beyond = distance + there;
    }
    return inside ? within : -beyond;
  };
}

/** Most by which the measure can change over a length, as a ratio, 1 for one inset all round. */
function steepness(polygon: Polygon, insets: readonly number[]): number {
  let steepest = 0;
  polygon.forEach(([x, y], i) => {
    const next = (i + 1) % polygon.length;
    const length = Math.hypot(polygon[next][0] - x, polygon[next][1] - y);
    if (length > 0) steepest = Math.max(steepest, Math.abs(insets[next] - insets[i]) / length);
  });
  return 1 + steepest;
}
