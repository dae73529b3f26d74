import { type Point, type Polygon, simplifyOutline } from '../../../base/geometry/outline.ts';
import { removeBackground } from '../../../image/mask/flood.ts';
import type { BrushStroke } from '../../../piece/schema.ts';
import { labPlanes } from '../../../vision/slab/rectify.ts';
import type { MaskQuestions } from './messages.ts';
import { splitPoints } from './stroke-points.ts';

type Background = MaskQuestions['background'];

/** What taking the background away may use: the rest is left to the brush. */
const BACKGROUND_STROKES = 500;

const BACKGROUND_POINTS = 12_000;

/** Less of the picture than this is nothing. */
const LEAST = 0.002;

/**
 * Floods a small picture from sides of it and turns what is background into strokes.
 * @throws Error with a sentence if that finds nothing, or leaves nothing.
 */
export function backgroundStrokes(question: Background['asks']): Background['gets'] {
  const { width, height, rgba, tolerance, from, softDots, mostStrokes } = question;
  const { L, a, b } = labPlanes({ width, height, rgba });
  const hundredth = (plane: Float32Array) => plane.map((value) => value / 100);
  const subject = removeBackground(
    { width, height, lightness: hundredth(L), a: hundredth(a), b: hundredth(b) },
    { tolerance: tolerance / 100, from },
  );
  const region = subject.map((value) => (value < 128 ? 1 : 0));
  const removed = region.reduce((sum, value) => sum + value, 0) / region.length;
  if (removed < LEAST) {
    throw new Error('No calm background was found along the sides it starts from; a higher tolerance takes more.');
  }
  if (removed > 1 - LEAST) {
    throw new Error('The whole picture would count as background; a lower tolerance leaves the subject.');
  }
  const most = { strokes: Math.min(BACKGROUND_STROKES, mostStrokes), points: BACKGROUND_POINTS };
  if (most.strokes < 1) throw new Error('This mask is full: clear it, or undo strokes, to take the background away.');
  return { ...regionStrokes(region, width, height, softDots, most), removed };
}

/**
 * How deep each dot of a region lies in it: distance from its middle to the region's edge, dots; 0 outside. The picture's own border is
 * no edge. A region without any edge is as deep everywhere as the picture is long.
 * Source: P. F. Felzenszwalb, D. P. Huttenlocher, "Distance Transforms of Sampled Functions", Theory of Computing 8, 2012.
 * Test: against a search (test/unit/mask-dialog-region.test.ts).
 * @param region 1 inside, 0 outside, row-major.
 */
export function depthField(region: Uint8Array, width: number, height: number): Float32Array {
  const longest = Math.hypot(width, height);
  // Squares; more than any that can come, but finite, so that differences stay numbers.
  const far = longest * longest;
  const square = Float64Array.from(region, (inside) => (inside ? far : 0));
  const line = new Float64Array(Math.max(width, height));
  const pass = (start: number, step: number, count: number) => {
    for (let i = 0; i < count; i++) line[i] = square[start + i * step];
    lowerEnvelope(line, count, (i, value) => {
      square[start + i * step] = value;
    });
  };
  for (let x = 0; x < width; x++) pass(x, width, height);
  for (let y = 0; y < height; y++) pass(y * width, 1, width);
  // The edge runs half a dot before the middle of the nearest dot outside.
  return Float32Array.from(square, (value) => (value === 0 ? 0 : Math.min(longest, Math.sqrt(value)) - 0.5));
}

/** Least (i − j)² + line[j] over all j, for each i. */
function lowerEnvelope(line: Float64Array, count: number, put: (i: number, value: number) => void): void {
  const roots = new Int32Array(count);
  const ends = new Float64Array(count + 1);
  let last = 0;
  ends[0] = Number.NEGATIVE_INFINITY;
  ends[1] = Number.POSITIVE_INFINITY;
  const meet = (q: number, r: number) => (line[q] + q * q - line[r] - r * r) / (2 * (q - r));
  for (let q = 1; q < count; q++) {
    let at = meet(q, roots[last]);
    while (at <= ends[last]) at = meet(q, roots[--last]);
    roots[++last] = q;
    ends[last] = at;
    ends[last + 1] = Number.POSITIVE_INFINITY;
  }
  for (let i = 0, k = 0; i < count; i++) {
    while (ends[k + 1] < i) k++;
    put(i, (i - roots[k]) ** 2 + line[roots[k]]);
  }
}

/**
 * All closed lines along which a field takes a level, holes included, in dots: the middle of dot (i, j) is (i + 0.5, j + 0.5). Beyond the
 * grid the field counts as 0, so that lines close along its border.
 * Source: marching squares with straight lines between dots (textbook). Test: test/unit/mask-dialog-region.test.ts.
 * @param level > 0.
 */
export function levelLines(field: ArrayLike<number>, width: number, height: number, level: number): Polygon[] {
  const columns = width + 2;
  const at = (x: number, y: number) =>
    x > 0 && y > 0 && x <= width && y <= height ? field[(y - 1) * width + x - 1] : 0;
  // A side of a cell is named by its left or upper end: twice the end's number if it runs across, one more if it runs down.
  const next = new Int32Array(2 * columns * (height + 2)).fill(-1);
  for (let y = 0; y <= height; y++) {
    for (let x = 0; x <= width; x++) {
      const corner = [at(x, y), at(x + 1, y), at(x + 1, y + 1), at(x, y + 1)].map((value) => value >= level);
      if (corner.every((inside) => inside === corner[0])) continue;
      const base = 2 * (y * columns + x);
      const side = [base, base + 3, base + 2 * columns, base + 1];
      for (let k = 0; k < 4; k++) {
        // From where the way round the cell goes out of the level to where it next comes in again.
        if (!corner[k] || corner[(k + 1) % 4]) continue;
        let to = (k + 1) % 4;
        while (!corner[(to + 1) % 4]) to = (to + 1) % 4;
        next[side[k]] = side[to];
      }
    }
  }
  const place = (name: number): Point => {
    const x = (name >> 1) % columns;
    const y = Math.floor((name >> 1) / columns);
    const [dx, dy] = name % 2 === 0 ? [1, 0] : [0, 1];
    const here = at(x, y);
    const share = (level - here) / (at(x + dx, y + dy) - here);
    return [x - 0.5 + share * dx, y - 0.5 + share * dy];
  };
  const lines: Polygon[] = [];
  for (let start = 0; start < next.length; start++) {
    if (next[start] < 0) continue;
    const line: Point[] = [];
    for (let name = start; next[name] >= 0; ) {
      line.push(place(name));
      const then = next[name];
      next[name] = -1;
      name = then;
    }
    lines.push(line);
  }
  return lines;
}

interface RegionStrokes {
  readonly strokes: BrushStroke[];
  /** Thinnest parts that are followed, dots; it grows until the strokes are few enough. */
  readonly finestDots: number;
  /** Whether it had to grow. */
  readonly coarser: boolean;
}

/** Radius of the finest brush's hard middle to begin with, dots. */
const FINEST = 1.25;

/** How far simplified lines may lie off, as a share of the finest radius. */
const OFF = 0.2;

/**
 * Strokes that erase a region. A brush goes along the line that lies its own radius deep in the region, so its rim draws the region's
 * edge; further strokes, each about twice as wide as the one before, go along deeper lines until the deepest dot is covered: every
 * dot between depth D and D + R lies within R of the line at depth D. Parts thinner than the finest brush are left out.
 * Source: none published for the combination. Test: painted with `paintStrokes` again (test/unit/mask-dialog-region.test.ts).
 * @param region 1 inside, 0 outside, row-major. @param softDots width over which the edge fades, dots.
 * @param most strokes and points in all that are allowed, > 0.
 */
export function regionStrokes(
  region: Uint8Array,
  width: number,
  height: number,
  softDots: number,
  most: { readonly strokes: number; readonly points: number },
): RegionStrokes {
  const depth = depthField(region, width, height);
  let deepest = 0;
  for (const value of depth) deepest = Math.max(deepest, value);
  let finest = FINEST;
  for (;;) {
    const strokes = strokesAt(depth, width, height, finest, softDots, deepest);
    const points = strokes.reduce((sum, stroke) => sum + stroke.points.length, 0);
    if (strokes.length <= most.strokes && points <= most.points) {
      return { strokes, finestDots: 2 * finest + softDots, coarser: finest > FINEST };
    }
    finest *= 1.4;
  }
}

function strokesAt(
  depth: Float32Array,
  width: number,
  height: number,
  finest: number,
  softDots: number,
  deepest: number,
): BrushStroke[] {
  const strokes: BrushStroke[] = [];
  const half = softDots / 2;
  const offDots = OFF * finest;
  // Deeper than the soft edge by so much that every line lies deeper than the one before.
  let line = half + finest;
  // The first draws the soft edge; those behind it are hard and keep out of it.
  let radius = line + half;
  let hardness = finest / radius;
  while (line <= deepest) {
    for (const outline of levelLines(depth, width, height, line)) {
      const closed = simplifyOutline(outline, offDots);
      const points = [...closed, closed[0]].map(([x, y]): [number, number] => [round(x / width), round(y / width)]);
      for (const part of splitPoints(points)) {
        strokes.push({ does: 'erase', points: part, radius: round(radius / width), hardness: round(hardness) });
      }
    }
    line += hardness * radius - 2 * offDots;
    radius = Math.min(width, line - half - offDots);
    hardness = 1;
  }
  return strokes;
}

const round = (share: number): number => Math.round(share * 1e5) / 1e5;
