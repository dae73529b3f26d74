import type { Slab } from '../../piece/schema.ts';

/**
 * Height of the face over its middle, mm, of a slab that is bowed along its width and domed towards its rim: parabolas, as a
 * board that dries unevenly takes to first order. The focus is set at the middle.
 */
export function faceHeightMm({ bowMm, domeMm, widthMm, heightMm }: Slab, xMm: number, yMm: number): number {
  const u = (2 * xMm) / widthMm;
  const v = (2 * yMm) / heightMm;
  return -bowMm * u * u - domeMm * (u * u + v * v);
}

/** Lowest and highest place of the face over its middle within a rectangle round a place, mm. */
export function faceRangeMm(
  slab: Slab,
  centreXMm: number,
  centreYMm: number,
  widthMm: number,
  heightMm: number,
): [number, number] {
  const xs = [-0.5, -0.25, 0, 0.25, 0.5].map((share) => centreXMm + share * widthMm);
  const ys = [-0.5, -0.25, 0, 0.25, 0.5].map((share) => centreYMm + share * heightMm);
  const heights = xs.flatMap((x) => ys.map((y) => faceHeightMm(slab, x, y)));
  return [Math.min(...heights, 0), Math.max(...heights, 0)];
}
