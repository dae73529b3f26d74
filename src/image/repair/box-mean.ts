interface BoxMoments {
  readonly mean: Float32Array;
  /** Mean square less the mean squared, ≥ 0. */
  readonly variance: Float32Array;
}

/**
 * Mean of the squares of (2 · radius + 1)² dots around each dot, of as many of them as lie inside. Sums that slide along columns and rows,
 * so the radius costs nothing.
 * Source: the box filter of K. He, J. Sun, X. Tang (see `denoise.ts`).
 * @param radius dots, whole, ≥ 0. @returns a new plane; not-a-number spreads over the rest.
 */
export function boxMean(plane: Float32Array, width: number, height: number, radius: number): Float32Array {
  const mean = new Float32Array(plane.length);
  slide(plane, { width, height, radius }, mean, null);
  return mean;
}

/** Mean and variance over the same squares, summed in float64, since their difference is small. */
export function boxMoments(plane: Float32Array, width: number, height: number, radius: number): BoxMoments {
  const mean = new Float32Array(plane.length);
  const variance = new Float32Array(plane.length);
  slide(plane, { width, height, radius }, mean, variance);
  return { mean, variance };
}

interface Window {
  readonly width: number;
  readonly height: number;
  readonly radius: number;
}

function slide(plane: Float32Array, window: Window, mean: Float32Array, variance: Float32Array | null): void {
  const { width, height, radius } = window;
  const sums = new Float64Array(width);
  const squares = new Float64Array(variance ? width : 0);
  const add = (y: number, sign: number) => {
    for (let x = 0, i = y * width; x < width; x++, i++) {
      const value = plane[i];
      sums[x] += sign * value;
      if (variance) squares[x] += sign * value * value;
    }
  };
  for (let y = 0; y < Math.min(radius, height); y++) add(y, 1);
  for (let y = 0; y < height; y++) {
    if (y + radius < height) add(y + radius, 1);
    if (y - radius > 0) add(y - radius - 1, -1);
    const rows = Math.min(height - 1, y + radius) - Math.max(0, y - radius) + 1;
    let sum = 0;
    let square = 0;
    for (let x = 0; x < Math.min(radius, width); x++) {
      sum += sums[x];
      if (variance) square += squares[x];
    }
    for (let x = 0, i = y * width; x < width; x++, i++) {
      const enter = x + radius;
      const leave = x - radius - 1;
      if (enter < width) {
        sum += sums[enter];
        if (variance) square += squares[enter];
      }
      if (leave >= 0) {
        sum -= sums[leave];
        if (variance) square -= squares[leave];
      }
      const count = rows * ((enter < width ? enter : width - 1) - (leave >= 0 ? leave : -1));
      const average = sum / count;
      mean[i] = average;
      if (variance) variance[i] = Math.max(0, square / count - average * average);
    }
  }
}
