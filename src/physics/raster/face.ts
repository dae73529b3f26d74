import { boundsMm, type Point } from '../../base/geometry/outline.ts';
import { signedDistanceMm } from '../../base/geometry/raster-mask.ts';
import type { Slab } from '../../piece/schema.ts';

/** The outline of a slab's face as rows of cells and films need it. Places from the slab's centre, y growing downwards, mm. */
export interface Face {
  /** Stretches of a line y = const that lie on the face: left and right ends in turn, rising. */
  spans(yMm: number): readonly number[];
  /**
   * Distance from the rim, positive inside; for an oval to first order (exact on its axes), for an outline to within a fraction of a
   * millimetre.
   */
  rimDistanceMm(xMm: number, yMm: number): number;
}

/** The face of a slab: oval, rectangle or a closed outline. */
export function createFace(slab: Slab): Face {
  const a = slab.widthMm / 2;
  const b = slab.heightMm / 2;
  switch (slab.shape) {
    case 'oval':
      return {
        spans(yMm) {
          const v = yMm / b;
          if (Math.abs(v) > 1) return [];
          const half = a * Math.sqrt(1 - v * v);
          return [-half, half];
        },
        rimDistanceMm(xMm, yMm) {
          const level = Math.hypot(xMm / a, yMm / b);
          const slope = Math.hypot(xMm / (a * a), yMm / (b * b));
          return slope > 0 ? ((1 - level) * level) / slope : Math.min(a, b);
        },
      };
    case 'rectangle':
      return {
        spans: (yMm) => (Math.abs(yMm) > b ? [] : [-a, a]),
        rimDistanceMm: (xMm, yMm) => Math.min(a - Math.abs(xMm), b - Math.abs(yMm)),
      };
    case 'outline':
      return outlineFace(slab.outlineMm);
  }
}

function outlineFace(points: readonly Point[]): Face {
  const spans = (yMm: number): number[] => {
    const crossings: number[] = [];
    for (let i = 0; i < points.length; i++) {
      const [x0, y0] = points[i];
      const [x1, y1] = points[(i + 1) % points.length];
      // Half-open, so that a corner on the line counts once.
      if (y0 <= yMm !== y1 <= yMm) crossings.push(x0 + ((yMm - y0) / (y1 - y0)) * (x1 - x0));
    }
    return crossings.sort((left, right) => left - right);
  };
  return {
    spans,
    rimDistanceMm(xMm, yMm) {
      let grid = grids.get(points);
      if (!grid) {
        grid = gridOf(points);
        grids.set(points, grid);
      }
      return grid(xMm, yMm);
    },
  };
}

/** Made once per outline: every swath of a burn asks for the same, and every order brings a copy of its own. */
const grids = new WeakMap<readonly Point[], DistanceGrid>();
const made = new Map<string, DistanceGrid>();
const MOST_MADE = 4;

function gridOf(points: readonly Point[]): DistanceGrid {
  const key = points.join(' ');
  const grid = made.get(key) ?? distanceGrid(points);
  made.set(key, grid);
  for (const old of [...made.keys()].slice(0, -MOST_MADE)) made.delete(old);
  return grid;
}

type DistanceGrid = (xMm: number, yMm: number) => number;
/** Nodes beyond the outline, so that what lies a little outside is told too. */
const BORDER = 4;

/** Signed distance to a closed outline on a grid of a millimetre, bilinear between; beyond the grid its edge's value. */
function distanceGrid(points: readonly Point[]): DistanceGrid {
  const bounds = boundsMm(points);
  const left = Math.floor(bounds.left) - BORDER;
  const top = Math.floor(bounds.top) - BORDER;
  const columns = Math.ceil(bounds.right) + BORDER - left + 1;
  const rows = Math.ceil(bounds.bottom) + BORDER - top + 1;
  const values = new Float32Array(columns * rows);
  for (let r = 0; r < rows; r++) {
    for (let c = 0; c < columns; c++) values[r * columns + c] = signedDistanceMm(points, [left + c, top + r]);
  }
  return (xMm, yMm) => {
    const u = Math.min(columns - 1.001, Math.max(0, xMm - left));
    const v = Math.min(rows - 1.001, Math.max(0, yMm - top));
    const c = Math.floor(u);
    const r = Math.floor(v);
    const at = r * columns + c;
    const above = values[at] + (values[at + 1] - values[at]) * (u - c);
    const below = values[at + columns] + (values[at + columns + 1] - values[at + columns]) * (u - c);
    return above + (below - above) * (v - r);
  };
}
