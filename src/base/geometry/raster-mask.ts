import {
  areaMm2,
  boundsMm,
  clockwise,
  middleMm,
  moved,
  type Point,
  type Polygon,
  perimeterMm,
  resampleOutline,
  simplifyOutline,
} from './outline.ts';
import type { TrueSizePhoto } from './rgba-photo.ts';

/** 1 for pixels of a photo whose middle lies inside an outline by more than `insetMm`, 0 elsewhere. Scan lines, even–odd rule. */
export function rasterMask(
  photo: Pick<TrueSizePhoto, 'width' | 'height' | 'mmPerPixel' | 'leftMm' | 'topMm'>,
  outline: Polygon,
  insetMm = 0,
): Uint8Array {
  const { width, height, mmPerPixel, leftMm, topMm } = photo;
  const line = insetMm === 0 ? outline : insetOutline(outline, insetMm);
  const mask = new Uint8Array(width * height);
  for (let j = 0; j < height; j++) {
    const y = topMm + (j + 0.5) * mmPerPixel;
    const hits: number[] = [];
    for (let i = 0; i < line.length; i++) {
      const [ax, ay] = line[i];
      const [bx, by] = line[i + 1 < line.length ? i + 1 : 0];
      if (ay > y !== by > y) hits.push((ax + ((y - ay) / (by - ay)) * (bx - ax) - leftMm) / mmPerPixel - 0.5);
    }
    hits.sort((p, q) => p - q);
    for (let k = 0; k + 1 < hits.length; k += 2) {
      const from = Math.max(0, Math.ceil(hits[k]));
      const to = Math.min(width, Math.floor(hits[k + 1]) + 1);
      if (to > from) mask.fill(1, j * width + from, j * width + to);
    }
  }
  return mask;
}

/** A mask of so many cells: 1 where the test holds for a cell's index, 0 elsewhere. (A plain loop is much quicker than `from`.) */
export function maskWhere(count: number, test: (i: number) => boolean): Uint8Array {
  const mask = new Uint8Array(count);
  for (let i = 0; i < count; i++) if (test(i)) mask[i] = 1;
  return mask;
}

/** Connected parts of a mask (0: outside; any other value: inside), joined along sides, not corners. Row-major. */
interface Component {
  /** Flat indices of the cells. */
  readonly cells: Int32Array;
}

/** All parts of a mask, in the order in which their first cells come. The mask is not changed. */
export function components(mask: Uint8Array, width: number, height: number): Component[] {
  const left = mask.slice();
  const stack = new Int32Array(mask.length);
  const found: Component[] = [];
  for (let start = 0; start < left.length; start++) {
    if (left[start] === 0) continue;
    left[start] = 0;
    stack[0] = start;
    let count = 1;
    // The stack is never emptied, only walked: in the end it holds the part's cells.
    for (let next = 0; next < count; next++) {
      const cell = stack[next];
      const x = cell % width;
      const visit = (other: number): void => {
        if (left[other] === 0) return;
        left[other] = 0;
        stack[count++] = other;
      };
      if (x > 0) visit(cell - 1);
      if (x < width - 1) visit(cell + 1);
      if (cell >= width) visit(cell - width);
      if (cell < width * (height - 1)) visit(cell + width);
    }
    found.push({ cells: stack.slice(0, count) });
  }
  return found;
}

/** The part with the most cells as a mask of 0 and 1 with its holes filled, and how many cells that has; null for an empty mask. */
export function largestFilled(
  mask: Uint8Array,
  width: number,
  height: number,
): { mask: Uint8Array; count: number } | null {
  let largest: Component | null = null;
  for (const part of components(mask, width, height)) {
    if (!largest || part.cells.length > largest.cells.length) largest = part;
  }
  if (!largest) return null;
  const filled = new Uint8Array(mask.length).fill(1);
  // Outside is what can be reached from the border, over corners too, for then the part cannot.
  const part = new Uint8Array(mask.length);
  for (const cell of largest.cells) part[cell] = 1;
  const stack: number[] = [];
  const reach = (cell: number): void => {
    if (part[cell] || filled[cell] === 0) return;
    filled[cell] = 0;
    stack.push(cell);
  };
  for (let x = 0; x < width; x++) {
    reach(x);
    reach((height - 1) * width + x);
  }
  for (let y = 0; y < height; y++) {
    reach(y * width);
    reach(y * width + width - 1);
  }
  for (let cell = stack.pop(); cell !== undefined; cell = stack.pop()) {
    const x = cell % width;
    const y = (cell - x) / width;
    for (let v = Math.max(0, y - 1); v <= Math.min(height - 1, y + 1); v++) {
      for (let u = Math.max(0, x - 1); u <= Math.min(width - 1, x + 1); u++) reach(v * width + u);
    }
  }
  return { mask: filled, count: filled.reduce((sum, value) => sum + value, 0) };
}

export interface Crossing {
  /** Numbers of the two edges that meet; edge i runs from point i to the next. */
  readonly edges: readonly [number, number];
  readonly at: Point;
}

/**
 * The first place where an outline crosses or touches itself; null if it is simple. Edges are swept from left to right, so the cost
 * is about n log n for outlines as slabs have them. Touching within 1e-9 of an edge's length counts.
 */
export function findCrossing(polygon: Polygon): Crossing | null {
  const n = polygon.length;
  const edges = polygon.map((a, i) => {
    const b = polygon[(i + 1) % n];
    return {
      i,
      a,
      b,
      left: Math.min(a[0], b[0]),
      right: Math.max(a[0], b[0]),
      top: Math.min(a[1], b[1]),
      bottom: Math.max(a[1], b[1]),
    };
  });
  edges.sort((p, q) => p.left - q.left);
  const open: typeof edges = [];
  for (const edge of edges) {
    let kept = 0;
    for (const other of open) if (other.right >= edge.left) open[kept++] = other;
    open.length = kept;
    for (const other of open) {
      if (other.top > edge.bottom || other.bottom < edge.top || beside(other, edge)) continue;
      const gap = Math.abs(edge.i - other.i);
      const at = gap === 1 || gap === n - 1 ? foldedBack(edge, other) : meeting(edge.a, edge.b, other.a, other.b);
      if (at) return { edges: [Math.min(edge.i, other.i), Math.max(edge.i, other.i)], at };
    }
    open.push(edge);
  }
  return null;
}

/** Whether both ends of the first lie well on one side of the second: most pairs do, and this is quickly said. */
function beside({ a: c, b: d }: Edge, { a, b }: Edge): boolean {
  const ux = b[0] - a[0];
  const uy = b[1] - a[1];
  const atC = ux * (c[1] - a[1]) - uy * (c[0] - a[0]);
  const atD = ux * (d[1] - a[1]) - uy * (d[0] - a[0]);
  const slack = 1e-9 * (Math.abs(atC - atD) + ux * ux + uy * uy);
  return (atC > slack && atD > slack) || (atC < -slack && atD < -slack);
}

interface Edge {
  readonly a: Point;
  readonly b: Point;
}

/** Neighbours share a point; they cross only if one runs back along the other. */
function foldedBack(p: Edge, q: Edge): Point | null {
  const [first, second] = p.b === q.a ? [p, q] : [q, p];
  const ux = first.a[0] - first.b[0];
  const uy = first.a[1] - first.b[1];
  const vx = second.b[0] - first.b[0];
  const vy = second.b[1] - first.b[1];
  const along = ux * vx + uy * vy;
  const across = Math.abs(ux * vy - uy * vx);
  return along > 0 && across <= 1e-9 * along ? first.b : null;
}

/** Where two segments meet, ends included. */
function meeting(a: Point, b: Point, c: Point, d: Point): Point | null {
  const ux = b[0] - a[0];
  const uy = b[1] - a[1];
  const vx = d[0] - c[0];
  const vy = d[1] - c[1];
  const wx = c[0] - a[0];
  const wy = c[1] - a[1];
  const cross = ux * vy - uy * vx;
  const sizes = Math.hypot(ux, uy) * Math.hypot(vx, vy);
  if (Math.abs(cross) <= 1e-12 * sizes) {
    if (Math.abs(ux * wy - uy * wx) > 1e-9 * (ux * ux + uy * uy)) return null;
    const length = ux * ux + uy * uy;
    const s = (wx * ux + wy * uy) / length;
    const t = s + (vx * ux + vy * uy) / length;
    const from = Math.max(0, Math.min(s, t));
    return from <= Math.min(1, Math.max(s, t)) ? [a[0] + from * ux, a[1] + from * uy] : null;
  }
  const s = (wx * vy - wy * vx) / cross;
  const t = (wx * uy - wy * ux) / cross;
  const slack = 1e-9;
  return s >= -slack && s <= 1 + slack && t >= -slack && t <= 1 + slack ? [a[0] + s * ux, a[1] + s * uy] : null;
}

/**
 * The line round a part without holes (mask of 0 and 1, one part joined along sides), clockwise as seen, in cells: the middle of
 * cell (i, j) is (i + 0.5, j + 0.5). Walks along the sides between inside and outside cells; between the two middles the line
 * passes where the field, read linearly, takes the level, held to 0.001–0.999 of the way. At the edge of the grid it passes along it.
 * @throws RangeError if the mask is empty.
 */
export function traceBoundary(
  mask: Uint8Array,
  field: ArrayLike<number>,
  width: number,
  height: number,
  level: number,
): Polygon {
  const first = mask.indexOf(1);
  if (first < 0) throw new RangeError('an empty mask has no boundary');
  const inside = (x: number, y: number): boolean =>
    x >= 0 && y >= 0 && x < width && y < height && mask[y * width + x] === 1;
  const points: Point[] = [];
  // Heading 0 right, 1 down, 2 left, 3 up; the cell ahead on the right is inside, the one on the left outside.
  const startX = first % width;
  const startY = Math.floor(first / width);
  let [x, y, heading] = [startX, startY, 0];
  do {
    const rightX = x + RIGHT_X[heading];
    const rightY = y + RIGHT_Y[heading];
    const leftX = x + LEFT_X[heading];
    const leftY = y + LEFT_Y[heading];
    points.push(between(rightX, rightY, leftX, leftY));
    x += STEP_X[heading];
    y += STEP_Y[heading];
    const ahead = heading;
    // Inside cells that meet at a corner only are kept apart: turn right where possible.
    if (!inside(x + RIGHT_X[ahead], y + RIGHT_Y[ahead])) heading = (ahead + 1) % 4;
    else if (inside(x + LEFT_X[ahead], y + LEFT_Y[ahead])) heading = (ahead + 3) % 4;
  } while (x !== startX || y !== startY || heading !== 0);
  return points;

  function between(ix: number, iy: number, ox: number, oy: number): Point {
    let share = 0.5;
    if (ox >= 0 && oy >= 0 && ox < width && oy < height) {
      const within = field[iy * width + ix];
      const beyond = field[oy * width + ox];
      const exact = (within - level) / (within - beyond);
      share = Number.isFinite(exact) ? Math.min(0.999, Math.max(0.001, exact)) : 0.5;
    }
    return [ix + 0.5 + share * (ox - ix), iy + 0.5 + share * (oy - iy)];
  }
}

const STEP_X = [1, 0, -1, 0];

const STEP_Y = [0, 1, 0, -1];

/** The cells ahead of a corner, right and left of the way, per heading. */
const RIGHT_X = [0, -1, -1, 0];

const RIGHT_Y = [0, 0, -1, -1];

const LEFT_X = [0, 0, -1, -1];

const LEFT_Y = [-1, 0, 0, -1];

/** Gaps (NaN) of up to so many points along a closed line are filled linearly from their two ends; longer ones stay. */
export function bridgeGaps(values: readonly number[], longest: number): number[] {
  const n = values.length;
  const out = [...values];
  const start = values.findIndex((value) => !Number.isNaN(value));
  if (start < 0) return out;
  for (let k = 1; k <= n; k++) {
    const at = (start + k) % n;
    if (!Number.isNaN(values[at])) continue;
    let length = 1;
    while (Number.isNaN(values[(at + length) % n])) length++;
    if (length <= longest) {
      const before = values[(at + n - 1) % n];
      const after = values[(at + length) % n];
      for (let g = 0; g < length; g++) out[(at + g) % n] = before + ((after - before) * (g + 1)) / (length + 1);
    }
    k += length - 1;
  }
  return out;
}

/** Nearest place of an outline. */
interface Nearest {
  /** Distance in mm; greater than zero inside, less outside. */
  readonly signedMm: number;
  /** Number of the nearest edge and the share of it, 0–1, at which the nearest place lies. */
  readonly edge: number;
  readonly share: number;
}

/** Whether a point lies inside an outline (even–odd rule, a ray to the right). On the edge itself either answer may come. */
export function isInside(polygon: Polygon, [x, y]: Point): boolean {
  let inside = false;
  let [ax, ay] = polygon[polygon.length - 1];
  for (const [bx, by] of polygon) {
    if (ay > y !== by > y && x < ax + ((y - ay) / (by - ay)) * (bx - ax)) inside = !inside;
    ax = bx;
    ay = by;
  }
  return inside;
}

/** Nearest place of an outline to a point, by looking at every edge. Exact. */
export function nearestOnOutline(polygon: Polygon, point: Point): Nearest {
  const [x, y] = point;
  let best = Number.POSITIVE_INFINITY;
  let edge = 0;
  let share = 0;
  let [ax, ay] = polygon[0];
  for (let i = 0; i < polygon.length; i++) {
    const [bx, by] = polygon[i + 1 < polygon.length ? i + 1 : 0];
    const ux = bx - ax;
    const uy = by - ay;
    const length = ux * ux + uy * uy;
    const along = length > 0 ? Math.min(1, Math.max(0, ((x - ax) * ux + (y - ay) * uy) / length)) : 0;
    const square = (ax + along * ux - x) ** 2 + (ay + along * uy - y) ** 2;
    if (square < best) {
      best = square;
      edge = i;
      share = along;
    }
    ax = bx;
    ay = by;
  }
  const distance = Math.sqrt(best);
  return { signedMm: isInside(polygon, point) ? distance : -distance, edge, share };
}

/** Distance of a point to an outline, mm: greater than zero inside, less outside. */
export const signedDistanceMm = (polygon: Polygon, point: Point): number => nearestOnOutline(polygon, point).signedMm;

/** Cells along the longer side of the grid of distances. */
const CELLS = 360;

/** Distance by which the new line may be off after it has been thinned out, mm. */
const TOLERANCE_MM = 0.02;

/**
 * The outline drawn inwards (outwards for a negative inset): the line along which the distance to the outline is the inset. Found on
 * a grid of distances, read linearly between its cells, so it never crosses itself; where it falls into parts the largest is kept, and
 * loops are dropped.
 * Error: 0.03 mm for slabs of up to 300 mm, 1e-4 of the longer side beyond, but for corners of the new line, which are cut by up to a
 * cell (1/360 of the longer side). Own code: libraries draw in by one distance all round.
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

/**
 * An outline about the slab's own origin, the middle of the box round it, running clockwise as seen.
 * @returns the outline and where its origin lay before, mm.
 * @throws RangeError as `checkOutline` does.
 */
export function centreOutline(polygon: Polygon): { readonly outline: Polygon; readonly middle: Point } {
  checkOutline(polygon);
  const middle = middleMm(polygon);
  return { outline: clockwise(moved(polygon, -middle[0], -middle[1])), middle };
}

/**
 * Refuses what cannot be a slab's outline.
 * @throws RangeError with a sentence for the maker: fewer than three points, a number that is not finite, no area, crossing itself.
 */
export function checkOutline(polygon: Polygon): void {
  if (polygon.length < 3) throw new RangeError(`an outline needs at least three points, got ${polygon.length}`);
  if (!polygon.every(([x, y]) => Number.isFinite(x) && Number.isFinite(y))) {
    throw new RangeError('every point of an outline needs two numbers');
  }
  const { left, top, right, bottom } = boundsMm(polygon);
  const place = (mm: number): string => mm.toFixed(1);
  const crossing = findCrossing(polygon);
  if (crossing) {
    const [x, y] = crossing.at;
    throw new RangeError(
      `the outline crosses itself at ${place(x)}, ${place(y)} mm: move the handles there apart, or undo the last change`,
    );
  }
  if (!(areaMm2(polygon) > 1e-9 * Math.max(right - left, bottom - top) ** 2)) {
    throw new RangeError('the outline encloses no area');
  }
}

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
