/** Signed distances of simple shapes, in scene units (metres); negative inside. Exact unless they say otherwise. */

export const mix = (from: number, to: number, share: number): number => from + (to - from) * share;
export const clamp = (value: number, low: number, high: number): number => Math.min(high, Math.max(low, value));
/** 0 below `from`, 1 above `to`, smooth between them. */
export function ramp(from: number, to: number, value: number): number {
  const t = clamp((value - from) / (to - from), 0, 1);
  return t * t * (3 - 2 * t);
}

/** Box around the origin with half sizes a, b, c. */
export function box(x: number, y: number, z: number, a: number, b: number, c: number): number {
  const dx = Math.abs(x) - a;
  const dy = Math.abs(y) - b;
  const dz = Math.abs(z) - c;
  if (dx <= 0 && dy <= 0 && dz <= 0) return Math.max(dx, dy, dz);
  const ox = Math.max(dx, 0);
  const oy = Math.max(dy, 0);
  const oz = Math.max(dz, 0);
  return Math.sqrt(ox * ox + oy * oy + oz * oz);
}

/** Upright cylinder from y = low to y = high; a lower bound near its rims. */
export function post(x: number, y: number, z: number, low: number, high: number, radius: number): number {
  return Math.max(Math.sqrt(x * x + z * z) - radius, low - y, y - high);
}

export type Point = readonly [number, number, number];

/** Rod with round ends from p to q. */
export function rod(x: number, y: number, z: number, p: Point, q: Point, radius: number): number {
  const ax = q[0] - p[0];
  const ay = q[1] - p[1];
  const az = q[2] - p[2];
  const bx = x - p[0];
  const by = y - p[1];
  const bz = z - p[2];
  const t = clamp((ax * bx + ay * by + az * bz) / (ax * ax + ay * ay + az * az), 0, 1);
  const dx = bx - ax * t;
  const dy = by - ay * t;
  const dz = bz - az * t;
  return Math.sqrt(dx * dx + dy * dy + dz * dz) - radius;
}

/** Flat polygon given as x0, y0, x1, y1, …; distance to its edge, negative inside (even–odd rule). */
export function polygon(x: number, y: number, corners: readonly number[]): number {
  const count = corners.length;
  let nearest = Number.POSITIVE_INFINITY;
  let inside = false;
  for (let i = 0, j = count - 2; i < count; j = i, i += 2) {
    const ex = corners[j] - corners[i];
    const ey = corners[j + 1] - corners[i + 1];
    const wx = x - corners[i];
    const wy = y - corners[i + 1];
    const t = clamp((wx * ex + wy * ey) / (ex * ex + ey * ey), 0, 1);
    const dx = wx - ex * t;
    const dy = wy - ey * t;
    nearest = Math.min(nearest, dx * dx + dy * dy);
    if (corners[i + 1] > y !== corners[j + 1] > y && x < corners[i] + (ex * (y - corners[i + 1])) / ey) {
      inside = !inside;
    }
  }
  return inside ? -Math.sqrt(nearest) : Math.sqrt(nearest);
}
