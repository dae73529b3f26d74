import { fitMessage } from '../input-error.ts';

interface DrawnPath {
  /** Its `id` in the drawing. */
  readonly id: string;
  /** Closed lines, mm, y growing downwards. */
  readonly lines: readonly Polygon[];
}

const DECIMALS = 3;

/**
 * Closed lines as an SVG drawing in mm, right to 0.0005 mm: size and user unit are mm, lines are not filled, the first lies at the bottom.
 * Source: W3C, Scalable Vector Graphics 1.1 (Second Edition).
 */
export function drawingToSvg(title: string, paths: readonly DrawnPath[]): string {
  const { left, top, right, bottom } = boundsMm(paths.flatMap(({ lines }) => lines.flat()));
  const number = (mm: number): string => String(Number(mm.toFixed(DECIMALS)));
  const [width, height] = [number(right - left), number(bottom - top)];
  const closed = (line: Polygon) =>
    `${line.map(([x, y], i) => `${i === 0 ? 'M' : 'L'}${number(x)} ${number(y)}`).join('')}Z`;
  const drawn = paths.map(({ id, lines }) => {
    return `  <path id="${id}" d="${lines.map(closed).join('')}" fill="none" stroke="#000000" stroke-width="0.1"/>`;
  });
  return `<?xml version="1.0" encoding="UTF-8"?>
<svg xmlns="http://www.w3.org/2000/svg" version="1.1" width="${width}mm" height="${height}mm" viewBox="${number(left)} ${number(top)} ${width} ${height}">
  <title>${escapeXml(title)}</title>
${drawn.join('\n')}
</svg>
`;
}

const ENTITIES: Readonly<Record<string, string>> = { '&': '&amp;', '<': '&lt;', '>': '&gt;' };

/** Text as it may stand between tags; XML knows no control characters. */
const escapeXml = (text: string): string =>
  text.replace(/[&<>]/g, (letter) => ENTITIES[letter]).replace(/[\p{Cc}\ufffe\uffff]/gu, ' ');

/** Measures of a closed polygon (Green's theorem); exact for straight edges. Test: test/unit/slab-outline.test.ts. */

/** Enclosed area, mm²: positive if the polygon runs clockwise as seen. */
export const signedAreaMm2 = (polygon: Polygon): number => sumOverEdges(polygon, (cross) => cross) / 2;

/** Enclosed area, mm². */
export const areaMm2 = (polygon: Polygon): number => Math.abs(signedAreaMm2(polygon));

/** Length of the line all round, mm. */
export const perimeterMm = (polygon: Polygon): number =>
  sumOverEdges(polygon, (_, a, b) => Math.hypot(b[0] - a[0], b[1] - a[1]));

export interface BoundsMm {
  readonly left: number;
  readonly top: number;
  readonly right: number;
  readonly bottom: number;
}

/** The box round a polygon, mm. */
export function boundsMm(polygon: Polygon): BoundsMm {
  let [left, top] = [Number.POSITIVE_INFINITY, Number.POSITIVE_INFINITY];
  let [right, bottom] = [Number.NEGATIVE_INFINITY, Number.NEGATIVE_INFINITY];
  for (const [x, y] of polygon) {
    left = Math.min(left, x);
    right = Math.max(right, x);
    top = Math.min(top, y);
    bottom = Math.max(bottom, y);
  }
  return { left, top, right, bottom };
}

/** Centre of the box round a polygon: the slab's own origin. */
export function middleMm(polygon: Polygon): Point {
  const { left, top, right, bottom } = boundsMm(polygon);
  return [(left + right) / 2, (top + bottom) / 2];
}

/** The polygon moved by (dx, dy), mm. */
export const moved = (polygon: Polygon, dx: number, dy: number): Polygon =>
  polygon.map(([x, y]): Point => [x + dx, y + dy]);

/** The polygon running clockwise as seen. */
export const clockwise = (polygon: Polygon): Polygon => (signedAreaMm2(polygon) < 0 ? [...polygon].reverse() : polygon);

function sumOverEdges(polygon: Polygon, term: (cross: number, a: Point, b: Point) => number): number {
  let sum = 0;
  let a = polygon[polygon.length - 1];
  for (const b of polygon) {
    sum += term(a[0] * b[1] - a[1] * b[0], a, b);
    a = b;
  }
  return sum;
}

/** A point (x, y), x to the right and y downwards; in mm or in photo pixels, as the text beside it says. */
export type Point = readonly [number, number];

/**
 * A closed outline: the last point joins the first, which is not repeated. Wherever this folder returns one it runs clockwise
 * as seen (right, down, left, up), so that the slab lies to the right of every edge.
 */
export type Polygon = readonly Point[];

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

/** An outline that was drawn elsewhere cannot be read; the message fits, whatever it quotes. */
export class OutlineError extends RangeError {
  constructor(message: string) {
    super(fitMessage(message));
  }
}

/**
 * An outline without its fine jitter: points at even distances, blurred along the line with a Gaussian. Where the outline bends
 * with radius R it moves inwards by σ² / 2R; corners are rounded.
 * @param sigmaMm standard deviation along the line, ≥ 0. The points returned lie a third of it apart, 0.2 mm at least.
 */
export function smoothOutline(polygon: Polygon, sigmaMm: number): Polygon {
  if (!(sigmaMm > 0)) return polygon;
  const even = resampleOutline(polygon, Math.max(0.2, sigmaMm / 3));
  const stepMm = Math.hypot(even[1][0] - even[0][0], even[1][1] - even[0][1]) || 0.2;
  const xs = smoothRing(
    even.map(([x]) => x),
    sigmaMm / stepMm,
  );
  const ys = smoothRing(
    even.map(([, y]) => y),
    sigmaMm / stepMm,
  );
  return even.map((_, i): Point => [xs[i], ys[i]]);
}

/**
 * Values along a closed line, evenly spaced, blurred with a Gaussian cut at four standard deviations.
 * @param sigma in steps; below 0.05 the values are only copied.
 */
export function smoothRing(values: ArrayLike<number>, sigma: number): Float64Array {
  const n = values.length;
  const out = Float64Array.from(values);
  if (!(sigma >= 0.05) || n === 0) return out;
  const reach = Math.ceil(4 * sigma);
  const weights = Float64Array.from({ length: reach + 1 }, (_, i) => Math.exp(-(i * i) / (2 * sigma * sigma)));
  const sum = weights.reduce((total, weight, i) => total + (i ? 2 * weight : weight), 0);
  for (let i = 0; i < n; i++) {
    let total = weights[0] * values[i];
    for (let k = 1; k <= reach; k++) total += weights[k] * (values[(i + k) % n] + values[(((i - k) % n) + n) % n]);
    out[i] = total / sum;
  }
  return out;
}

/** Median of each value and its `reach` neighbours either way along a closed line; values that are NaN are passed over. */
export function medianRing(values: ArrayLike<number>, reach: number): Float64Array {
  const n = values.length;
  return Float64Array.from({ length: n }, (_, i) => {
    const near: number[] = [];
    for (let k = -reach; k <= reach; k++) {
      const value = values[(((i + k) % n) + n) % n];
      if (!Number.isNaN(value)) near.push(value);
    }
    near.sort((a, b) => a - b);
    const middle = near.length >> 1;
    return near.length === 0 ? Number.NaN : near.length % 2 ? near[middle] : (near[middle - 1] + near[middle]) / 2;
  });
}

/**
 * An outline as points at even distances along it, starting at its first point.
 * @param stepMm wished distance; the one taken divides the perimeter, into at least eight steps.
 */
export function resampleOutline(polygon: Polygon, stepMm: number): Polygon {
  const perimeter = perimeterMm(polygon);
  const count = Math.max(8, Math.round(perimeter / stepMm));
  const points: Point[] = [];
  let walked = 0;
  let edge = 0;
  let [a, b] = [polygon[0], polygon[1 % polygon.length]];
  let length = Math.hypot(b[0] - a[0], b[1] - a[1]);
  for (let i = 0; i < count; i++) {
    const wanted = (i / count) * perimeter;
    while (walked + length < wanted && edge < polygon.length - 1) {
      walked += length;
      edge++;
      a = b;
      b = polygon[(edge + 1) % polygon.length];
      length = Math.hypot(b[0] - a[0], b[1] - a[1]);
    }
    const share = length > 0 ? Math.min(1, (wanted - walked) / length) : 0;
    points.push([a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])]);
  }
  return points;
}

/**
 * An outline with fewer points, none of the old ones further than the tolerance from the new line. Starts from the first point and the
 * one furthest from it and keeps, between two kept points, the furthest from their chord as long as it is off by more.
 *
 * Sources: U. Ramer, "An iterative procedure for the polygonal approximation of plane curves", Comput. Graph. Image Process. 1, 1972;
 * D. H. Douglas, T. K. Peucker, Cartographica 10, 1973. Test: test/unit/slab-outline.test.ts. Own code: libraries thin open lines only.
 * @param toleranceMm ≥ 0. A strongly jagged line may cross itself afterwards: check it.
 */
export function simplifyOutline(polygon: Polygon, toleranceMm: number): Polygon {
  const n = polygon.length;
  if (n <= 3) return polygon;
  let far = 0;
  for (let i = 1; i < n; i++) {
    if (distance(polygon[i], polygon[0]) > distance(polygon[far], polygon[0])) far = i;
  }
  const kept = keepFar(
    [...polygon, polygon[0]],
    [
      [0, far],
      [far, n],
    ],
    toleranceMm,
  ).slice(0, -1);
  return kept.length >= 3 ? kept : polygon;
}

/** The same for an open line, whose ends stay. */
export const simplifyLine = (points: readonly Point[], tolerance: number): Point[] =>
  points.length < 2 ? [...points] : keepFar(points, [[0, points.length - 1]], tolerance);

/** The ends of spans of a line, and of what lies between them each point that is furthest from a chord and further than the tolerance. */
function keepFar(points: readonly Point[], spans: [number, number][], tolerance: number): Point[] {
  const keep = new Set(spans.flat());
  for (let span = spans.pop(); span; span = spans.pop()) {
    const [from, to] = span;
    let worst = tolerance;
    let at = -1;
    for (let i = from + 1; i < to; i++) {
      const off = toChord(points[i], points[from], points[to]);
      if (off > worst) {
        worst = off;
        at = i;
      }
    }
    if (at < 0) continue;
    keep.add(at);
    spans.push([from, at], [at, to]);
  }
  return points.filter((_, i) => keep.has(i));
}

const distance = (a: Point, b: Point): number => Math.hypot(a[0] - b[0], a[1] - b[1]);

function toChord(p: Point, a: Point, b: Point): number {
  const ux = b[0] - a[0];
  const uy = b[1] - a[1];
  const length = ux * ux + uy * uy;
  const along = length > 0 ? Math.min(1, Math.max(0, ((p[0] - a[0]) * ux + (p[1] - a[1]) * uy) / length)) : 0;
  return Math.hypot(a[0] + along * ux - p[0], a[1] + along * uy - p[1]);
}
