/**
 * Blurs a plane with a Gaussian, row by row and column by column; what lies beyond an edge is the plane mirrored in it.
 * Up to a standard deviation of 3 cells the Gaussian is sampled out to 4 of them; above that, four passes of a running mean
 * with fractional ends, whose variance is exact and whose cost does not grow with the radius.
 * Source of the latter: P. Gwosdek, S. Grewenig, A. Bruhn, J. Weickert, "Theoretical foundations of Gaussian convolution by
 * extended box filtering", SSVM 2011, eqs. 8–10.
 * @param sigma standard deviation in cells, ≥ 0. Below 0.05 the plane is only copied.
 * @returns a new plane; NaN spreads.
 */
export function blurGaussian(plane: Float32Array, width: number, height: number, sigma: number): Float32Array {
  if (!(sigma >= 0.05) || plane.length === 0) return plane.slice();
  const filter = sigma <= 3 ? sampledGaussian(sigma) : extendedBox(sigma);
  const across = transpose(filterRows(plane, width, height, filter), width, height);
  return transpose(filterRows(across, height, width, filter), height, width);
}

interface LineFilter {
  /** Cells beyond either end that one application needs. */
  readonly reach: number;
  readonly passes: number;
  /** Reads `padded` (`reach` cells longer at either end than the line) and writes `count` cells from `at` on. */
  apply(padded: Float32Array, out: Float32Array, at: number, count: number): void;
}

function sampledGaussian(sigma: number): LineFilter {
  const reach = Math.ceil(4 * sigma);
  const weights = Float64Array.from({ length: reach + 1 }, (_, i) => Math.exp(-(i * i) / (2 * sigma * sigma)));
  const sum = weights.reduce((total, weight, i) => total + (i ? 2 * weight : weight), 0);
  for (let i = 0; i <= reach; i++) weights[i] /= sum;
  return {
    reach,
    passes: 1,
    apply(padded, out, at, count) {
      for (let x = 0; x < count; x++) {
        const middle = x + reach;
        let total = weights[0] * padded[middle];
        for (let i = 1; i <= reach; i++) total += weights[i] * (padded[middle - i] + padded[middle + i]);
        out[at + x] = total;
      }
    },
  };
}

const BOXES = 4;

function extendedBox(sigma: number): LineFilter {
  const variance = (sigma * sigma) / BOXES;
  const radius = Math.floor(0.5 * Math.sqrt(12 * variance + 1) - 0.5);
  const span = 2 * radius + 1;
  const end = (span * (radius * (radius + 1) - 3 * variance)) / (6 * (variance - (radius + 1) * (radius + 1)));
  const inner = 1 / (span + 2 * end);
  const outer = end * inner;
  const reach = radius + 1;
  return {
    reach,
    passes: BOXES,
    apply(padded, out, at, count) {
      let sum = 0;
      for (let i = 1; i <= span; i++) sum += padded[i];
      for (let x = 0; x < count; x++) {
        out[at + x] = inner * sum + outer * (padded[x] + padded[x + 2 * reach]);
        sum += padded[x + span + 1] - padded[x + 1];
      }
    },
  };
}

function filterRows(plane: Float32Array, width: number, height: number, filter: LineFilter): Float32Array {
  const { reach, passes } = filter;
  const out = new Float32Array(plane.length);
  const padded = new Float32Array(width + 2 * reach);
  const mirrored = Int32Array.from({ length: padded.length }, (_, i) => mirrorIndex(i - reach, width));
  for (let y = 0; y < height; y++) {
    const at = y * width;
    for (let pass = 0; pass < passes; pass++) {
      const source = pass === 0 ? plane : out;
      for (let i = 0; i < reach; i++) padded[i] = source[at + mirrored[i]];
      padded.set(source.subarray(at, at + width), reach);
      for (let i = reach + width; i < padded.length; i++) padded[i] = source[at + mirrored[i]];
      filter.apply(padded, out, at, width);
    }
  }
  return out;
}

/** … 1 0 | 0 1 2 … n−1 | n−1 n−2 …, as often as needed. */
function mirrorIndex(index: number, count: number): number {
  const period = 2 * count;
  const wrapped = ((index % period) + period) % period;
  return wrapped < count ? wrapped : period - 1 - wrapped;
}

const TILE = 32;

function transpose(plane: Float32Array, width: number, height: number): Float32Array {
  const out = new Float32Array(plane.length);
  for (let y0 = 0; y0 < height; y0 += TILE) {
    const y1 = Math.min(height, y0 + TILE);
    for (let x0 = 0; x0 < width; x0 += TILE) {
      const x1 = Math.min(width, x0 + TILE);
      for (let x = x0; x < x1; x++) {
        for (let y = y0; y < y1; y++) out[x * height + y] = plane[y * width + x];
      }
    }
  }
  return out;
}
