import { simplifyOutline } from '../../../base/geometry/simplify.ts';
import type { BrushStroke } from '../../../piece/schema.ts';
import { depthField } from './depth-field.ts';
import { levelLines } from './level-lines.ts';
import { splitPoints } from './split-points.ts';

export interface RegionStrokes {
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
