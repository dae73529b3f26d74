import type { Point } from '../../base/geometry/outline.ts';
import { components, maskWhere } from '../../base/geometry/raster-mask.ts';
import { type RgbaPhoto, samplePlane } from '../../base/geometry/rgba-photo.ts';
import { averageColors } from '../../image/average-colors.ts';
import { labPlanes } from './rectify.ts';
import { CARD_MM } from './scale.ts';

/** Longest side of the picture that cards are looked for in, pixels; their edges are read off the photograph itself. */
const SEARCH_PX = 480;

/** Levels at which each of lightness and the two colours is cut in two. */
const LEVELS = 11;

/** A card covers so much of a photograph, share of its area. */
const LEAST_SHARE = 0.003;

const MOST_SHARE = 0.3;

/** Its long over its short side as seen; perspective may change it by so much. */
const RATIO = CARD_MM.width / CARD_MM.height;

const RATIO_OFF = 1.3;

/** What four straight sides must enclose of a part's own hull, and the part of its hull: an ellipse has 0.64 of the first. */
const LEAST_FOUR = 0.9;

const LEAST_FULL = 0.95;

/** So many of the likeliest are looked at closely. */
const MOST_CANDIDATES = 10;

/**
 * The four corners of a bank card (ISO/IEC 7810 ID-1) that lies in a photograph, in its pixels, clockwise from the one nearest the left
 * top; null where none is sure. Parts that stand out at some level of lightness or colour and have four straight sides in a card's
 * ratio are looked at closely: a line is laid along the edge on each side, and the lines meet in the corners, which are round on the
 * card itself.
 * Test: test/unit/find-bank-card.test.ts.
 */
export function findBankCard(photo: RgbaPhoto): Point[] | null {
  const by = Math.max(1, Math.max(photo.width, photo.height) / SEARCH_PX);
  const [width, height] = [Math.round(photo.width / by), Math.round(photo.height / by)];
  const bytes = new Uint8Array(photo.rgba.buffer, photo.rgba.byteOffset, photo.rgba.length);
  const rows = { ...photo, row: (y: number) => ({ data: bytes, at: 4 * y * photo.width }) };
  const planes = labPlanes({ width, height, rgba: averageColors(rows, width, height) });
  const found: Quad[] = [];
  for (const plane of [planes.L, planes.a, planes.b]) found.push(...quadsOf(plane, width, height));
  found.sort((one, other) => other.likely - one.likely);
  const fine = labPlanes(photo);
  for (const { corners } of distinct(found).slice(0, MOST_CANDIDATES)) {
    const [u, v] = [photo.width / width, photo.height / height];
    const rough = corners.map(([x, y]): Point => [x * u, y * v]);
    const sharp = alongEdges([fine.L, fine.a, fine.b], photo.width, photo.height, rough);
    if (sharp && likeCard(sharp)) return fromLeftTop(sharp);
  }
  return null;
}

interface Quad {
  readonly corners: readonly Point[];
  readonly likely: number;
}

/** What has four sides in a card's ratio among the parts above and below each of some levels. */
function quadsOf(plane: Float32Array, width: number, height: number): Quad[] {
  const order = plane.filter((_, i) => i % 7 === 0).sort();
  const found: Quad[] = [];
  let before = Number.NaN;
  for (let k = 1; k <= LEVELS; k++) {
    const level = order[Math.floor((k / (LEVELS + 1)) * (order.length - 1))];
    // A flat picture has one level many times.
    if (level === before) continue;
    before = level;
    for (const above of [true, false]) {
      const mask = maskWhere(plane.length, (i) => plane[i] > level === above);
      for (const { cells } of components(mask, width, height)) {
        const quad = quadOf(cells, width, height);
        if (quad) found.push(quad);
      }
    }
  }
  return found;
}

function quadOf(cells: Int32Array, width: number, height: number): Quad | null {
  const all = width * height;
  if (cells.length < 0.5 * LEAST_SHARE * all || cells.length > MOST_SHARE * all) return null;
  const rows = spansOf(
    cells,
    (cell) => Math.floor(cell / width),
    (cell) => cell % width,
  );
  const columns = spansOf(
    cells,
    (cell) => cell % width,
    (cell) => Math.floor(cell / width),
  );
  // What reaches the picture's border goes on beyond it.
  if (rows.has(0) || rows.has(height - 1) || columns.has(0) || columns.has(width - 1)) return null;
  const outer: Point[] = [];
  for (const [y, [from, to]] of rows) outer.push([from, y], [to + 1, y], [from, y + 1], [to + 1, y + 1]);
  const hull = convexHull(outer);
  const area = areaOf(hull);
  if (area < LEAST_SHARE * all || area > MOST_SHARE * all) return null;
  // Print on a card leaves holes; its outline is told by where rows and columns begin and end.
  const full = Math.min(lengthOf(rows), lengthOf(columns)) / area;
  if (full < LEAST_FULL) return null;
  const [inner, corners] = [fourOf(hull), sidesOf(hull)];
  if (areaOf(inner) < LEAST_FOUR * area || !corners || !likeCard(corners)) return null;
  // What the four sides enclose beside the hull, and what they leave out of it: round corners are little of a card.
  const likely = full * (1 - Math.abs(areaOf(corners) / area - 1));
  return { corners, likely };
}

/** Where the lines along a hull's four sides meet: they are laid through the middle part of each, which round corners leave alone. */
function sidesOf(hull: readonly Point[]): Point[] | null {
  const inner = fourOf(hull);
  const first = hull.indexOf(inner[0]);
  const round = [...hull.slice(first), ...hull.slice(0, first + 1)];
  const ends = [...inner.map((corner) => round.indexOf(corner)), round.length - 1];
  const lines = inner.map((_, side) => {
    const along = round.slice(ends[side], ends[side + 1] + 1);
    const [from, to] = [along[0], along[along.length - 1]];
    const length = far(from, to);
    const points: Point[] = [];
    for (let i = 0; i + 1 < along.length; i++) {
      const pieces = Math.max(1, Math.round(far(along[i], along[i + 1])));
      for (let k = 0; k < pieces; k++) {
        const share = k / pieces;
        const at: Point = [
          along[i][0] + share * (along[i + 1][0] - along[i][0]),
          along[i][1] + share * (along[i + 1][1] - along[i][1]),
        ];
        const place = ((at[0] - from[0]) * (to[0] - from[0]) + (at[1] - from[1]) * (to[1] - from[1])) / length ** 2;
        if (place > 0.15 && place < 0.85) points.push(at);
      }
    }
    return points.length >= 4 ? fitLine(points) : null;
  });
  return cornersOf(lines);
}

type Spans = Map<number, [from: number, to: number]>;

function spansOf(cells: Int32Array, line: (cell: number) => number, place: (cell: number) => number): Spans {
  const spans: Spans = new Map();
  for (const cell of cells) {
    const [key, at] = [line(cell), place(cell)];
    const span = spans.get(key);
    if (!span) spans.set(key, [at, at]);
    else if (at < span[0]) span[0] = at;
    else if (at > span[1]) span[1] = at;
  }
  return spans;
}

const lengthOf = (spans: Spans): number => [...spans.values()].reduce((sum, [from, to]) => sum + to - from + 1, 0);

/** Clockwise as seen. Source: A. M. Andrew, "Another efficient algorithm for convex hulls in two dimensions", Information Processing Letters 9, 1979. */
function convexHull(points: readonly Point[]): Point[] {
  const sorted = [...points].sort(([ax, ay], [bx, by]) => ax - bx || ay - by);
  const half = (along: readonly Point[]): Point[] => {
    const line: Point[] = [];
    for (const point of along) {
      while (line.length > 1 && turn(line[line.length - 2], line[line.length - 1], point) <= 0) line.pop();
      line.push(point);
    }
    return line.slice(0, -1);
  };
  return [...half(sorted), ...half(sorted.toReversed())];
}

/** Twice the area of a triangle, greater than zero clockwise as seen. */
const turn = ([ax, ay]: Point, [bx, by]: Point, [cx, cy]: Point): number =>
  (bx - ax) * (cy - ay) - (by - ay) * (cx - ax);

const areaOf = (points: readonly Point[]): number =>
  Math.abs(points.reduce((sum, at, i) => sum + turn([0, 0], at, points[(i + 1) % points.length]), 0)) / 2;

/** A hull brought down to four corners: again and again the one goes that takes the least area with it. */
function fourOf(hull: readonly Point[]): Point[] {
  const left = [...hull];
  while (left.length > 4) {
    let [least, at] = [Number.POSITIVE_INFINITY, 0];
    for (let i = 0; i < left.length; i++) {
      const n = left.length;
      const takes = Math.abs(turn(left[(i + n - 1) % n], left[i], left[(i + 1) % n]));
      if (takes < least) [least, at] = [takes, i];
    }
    left.splice(at, 1);
  }
  return left;
}

const far = ([ax, ay]: Point, [bx, by]: Point): number => Math.hypot(bx - ax, by - ay);

/** Whether four corners may be a card's: its ratio, opposite sides about as long, and every corner turned the same way. */
function likeCard(corners: readonly Point[]): boolean {
  if (corners.length !== 4) return false;
  const sides = corners.map((at, i) => far(at, corners[(i + 1) % 4]));
  const alike = (a: number, b: number, off: number) => a < off * b && b < off * a;
  if (!alike(sides[0], sides[2], RATIO_OFF) || !alike(sides[1], sides[3], RATIO_OFF)) return false;
  const [one, other] = [sides[0] + sides[2], sides[1] + sides[3]];
  if (!alike(Math.max(one, other) / Math.min(one, other), RATIO, RATIO_OFF)) return false;
  return corners.every((at, i) => {
    const [next, after] = [corners[(i + 1) % 4], corners[(i + 2) % 4]];
    // Square corners, seen askew.
    return turn(at, next, after) > 0.8 * far(at, next) * far(next, after);
  });
}

/** The likeliest of those that lie on one place. */
function distinct(quads: readonly Quad[]): Quad[] {
  const kept: Quad[] = [];
  for (const quad of quads) {
    const reach = 0.04 * far(quad.corners[0], quad.corners[2]);
    const same = kept.some(({ corners }) =>
      quad.corners.every((at) => corners.some((other) => far(at, other) < reach)),
    );
    if (!same) kept.push(quad);
  }
  return kept;
}

/** Places along a side at which its edge is read, away from the round corners. */
const PLACES = 48;

const FROM = 0.1;

/** Reach of a profile to either side, share of the short side, and the least, pixels. */
const REACH = 0.06;

const LEAST_REACH_PX = 7;

/** What lies farther off its line than this does not count, pixels; and so many of a side's places must lie on it. */
const ON_LINE_PX = 1.5;

const LEAST_ON_LINE = 0.55;

/** Step across an edge that is believed, ΔE. */
const LEAST_STEP = 3;

/** The corners where the lines along the four edges meet; null where an edge is none. */
function alongEdges(
  planes: readonly Float32Array[],
  width: number,
  height: number,
  rough: readonly Point[],
): Point[] | null {
  let corners = rough;
  for (let round = 0; round < 2; round++) {
    const sides = corners.map((at, i) => far(at, corners[(i + 1) % 4]));
    const reach = Math.max(LEAST_REACH_PX, REACH * Math.min(...sides));
    const lines = corners.map((at, i) => edgeLine(planes, width, height, at, corners[(i + 1) % 4], reach));
    const met = cornersOf(lines);
    if (!met) return null;
    corners = met;
  }
  return [...corners];
}

/** n · p = d, n of length one. */
interface Line {
  readonly normal: Point;
  readonly d: number;
}

function edgeLine(
  planes: readonly Float32Array[],
  width: number,
  height: number,
  from: Point,
  to: Point,
  reach: number,
): Line | null {
  const length = far(from, to);
  const across: Point = [-(to[1] - from[1]) / length, (to[0] - from[0]) / length];
  const read = (at: Point, off: number): readonly number[] =>
    planes.map((plane) => samplePlane(plane, width, height, at[0] + off * across[0], at[1] + off * across[1]));
  const edge: Point[] = [];
  for (let k = 0; k < PLACES; k++) {
    const share = FROM + ((1 - 2 * FROM) * k) / (PLACES - 1);
    const at: Point = [from[0] + share * (to[0] - from[0]), from[1] + share * (to[1] - from[1])];
    const steps = Math.ceil(2 * reach);
    const profile = Array.from({ length: 2 * steps + 1 }, (_, j) => read(at, (j - steps) / 2));
    const jump = (j: number): number => {
      // Two pixels to either side, so that noise and print weigh less than an edge, and a blurred one has its peak in the middle.
      const mean = (from: number) =>
        profile[from].map(
          (value, c) => (value + profile[from + 1][c] + profile[from + 2][c] + profile[from + 3][c]) / 4,
        );
      const [outside, inside] = [mean(j - 5), mean(j + 2)];
      return Math.hypot(...outside.map((value, c) => inside[c] - value));
    };
    let [best, place] = [0, -1];
    for (let j = 5; j + 5 < profile.length; j++) if (jump(j) > best) [best, place] = [jump(j), j];
    if (best < LEAST_STEP || place < 6 || place + 6 >= profile.length) continue;
    const [a, b, c] = [jump(place - 1), best, jump(place + 1)];
    const bend = a - 2 * b + c;
    const off = (place + (bend < 0 ? (0.5 * (a - c)) / bend : 0) - steps) / 2;
    edge.push([at[0] + off * across[0], at[1] + off * across[1]]);
  }
  return edge.length >= LEAST_ON_LINE * PLACES ? lineThrough(edge) : null;
}

/** The line on which most points lie, through those; null if they are too few. */
function lineThrough(points: readonly Point[]): Line | null {
  let best: Point[] = [];
  for (let i = 0; i < points.length; i++) {
    for (let j = i + 8; j < points.length; j += 3) {
      const line = through(points[i], points[j]);
      const on = points.filter((at) => Math.abs(offLine(line, at)) < ON_LINE_PX);
      if (on.length > best.length) best = on;
    }
  }
  if (best.length < LEAST_ON_LINE * PLACES) return null;
  return fitLine(best);
}

/** The line that points lie nearest to, measured across it. */
function fitLine(points: readonly Point[]): Line {
  const x = points.reduce((sum, at) => sum + at[0], 0) / points.length;
  const y = points.reduce((sum, at) => sum + at[1], 0) / points.length;
  let [xx, xy, yy] = [0, 0, 0];
  for (const [px, py] of points) {
    xx += (px - x) ** 2;
    xy += (px - x) * (py - y);
    yy += (py - y) ** 2;
  }
  // Along the larger of the two axes of the points' spread.
  const angle = Math.atan2(2 * xy, xx - yy) / 2;
  return through([x, y], [x + Math.cos(angle), y + Math.sin(angle)]);
}

function through(a: Point, b: Point): Line {
  const length = far(a, b) || 1;
  const normal: Point = [-(b[1] - a[1]) / length, (b[0] - a[0]) / length];
  return { normal, d: normal[0] * a[0] + normal[1] * a[1] };
}

const offLine = ({ normal, d }: Line, [x, y]: Point): number => normal[0] * x + normal[1] * y - d;

/** Where each line meets the one before it; null if one is missing or two run alongside. */
function cornersOf(lines: readonly (Line | null)[]): Point[] | null {
  const met = lines.flatMap((line, i) => {
    const before = lines[(i + lines.length - 1) % lines.length];
    const at = line && before && meeting(before, line);
    return at ? [at] : [];
  });
  return met.length === lines.length ? met : null;
}

function meeting(a: Line, b: Line): Point | null {
  const cross = a.normal[0] * b.normal[1] - a.normal[1] * b.normal[0];
  if (Math.abs(cross) < 0.1) return null;
  return [(a.d * b.normal[1] - b.d * a.normal[1]) / cross, (a.normal[0] * b.d - b.normal[0] * a.d) / cross];
}

/** The same corners, beginning with the one nearest the picture's left top. */
function fromLeftTop(corners: readonly Point[]): Point[] {
  const sums = corners.map(([x, y]) => x + y);
  const first = sums.indexOf(Math.min(...sums));
  return corners.map((_, i) => corners[(first + i) % 4]);
}
