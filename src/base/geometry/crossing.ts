import type { Point, Polygon } from './point.ts';

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
