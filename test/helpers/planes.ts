import type { Picture } from '../../src/image/picture.ts';

/** Row-major planes turned and mirrored; each returns a new plane. */
type Plane = Float32Array;

const build = (width: number, height: number, at: (x: number, y: number) => number): Plane =>
  Float32Array.from({ length: width * height }, (_, i) => at(i % width, Math.floor(i / width)));

/** Left and right change places. */
export const mirrored = (plane: Plane, width: number): Plane =>
  build(width, plane.length / width, (x, y) => plane[y * width + width - 1 - x]);

export const turnedHalf = (plane: Plane): Plane => plane.slice().reverse();

/** A quarter turn counter-clockwise; the result is `height` wide. */
export const turnedLeft = (plane: Plane, width: number): Plane => {
  const height = plane.length / width;
  return build(height, width, (x, y) => plane[x * width + width - 1 - y]);
};

/** Columns become rows; the result is `height` wide. */
export const transposed = (plane: Plane, width: number): Plane => {
  const height = plane.length / width;
  return build(height, width, (x, y) => plane[x * width + y]);
};

/** A picture with its plane turned; give its new width. */
export const withPlane = (luminance: Plane, width: number): Picture => ({
  width,
  height: luminance.length / width,
  luminance,
  alpha: null,
});

/** Largest difference between two planes of the same length. */
export function largestDifference(a: Plane, b: Plane): number {
  if (a.length !== b.length) return Number.POSITIVE_INFINITY;
  let largest = 0;
  for (let i = 0; i < a.length; i++) largest = Math.max(largest, Math.abs(a[i] - b[i]));
  return largest;
}
