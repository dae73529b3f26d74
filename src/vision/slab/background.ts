import { Matrix, solve } from 'ml-matrix';
import type { LabPlanes } from './lab-planes.ts';

const PLANES = ['L', 'a', 'b'] as const;
/** 1, x, y, x², xy, y² over the picture, −1 … 1. */
const TERMS = 6;
/** About so many pixels are looked at for the fit, evenly spread. */
const PLACES = 4000;
/** Rounds of the fit. In all but the last two this share of the pixels is kept, the nearest. */
const ROUNDS = 10;
const KEPT = 0.6;
/** In the last rounds what is nearer than so many times the median distance is kept. */
const FURTHEST = 3;

/**
 * How far each pixel's colour is from that of the table there, as a distance in L*a*b*. The table is taken as one colour under a light
 * that changes slowly: per channel a polynomial of the second degree over the picture, fitted to the pixels in `seen` by least trimmed
 * squares (the nearest 60 % are fitted again and again, in the end all within three times the median distance), so that a slab that
 * runs off the picture, a hand or a ruler do not count.
 * Source: P. J. Rousseeuw, K. Van Driessen, "Computing LTS regression for large data sets", Data Min. Knowl. Discov. 12, 2006.
 * @param seen 1 where the table is believed to be.
 * @returns distances, and the median one in `seen`.
 */
export function distanceFromBackground(
  planes: LabPlanes,
  seen: Uint8Array,
  width: number,
  height: number,
): { readonly distance: Float32Array; readonly spread: number } {
  const cells = sampled(seen, width, height);
  const terms = cells.map((cell) => termsAt(cell, width, height));
  let used = cells.map((_, i) => i);
  let fits: number[][] = [];
  let spread = 0;
  for (let round = 0; round < ROUNDS; round++) {
    fits = PLANES.map((plane) =>
      leastSquares(
        used.map((i) => terms[i]),
        used.map((i) => planes[plane][cells[i]]),
      ),
    );
    const off = cells.map((cell, i) =>
      Math.hypot(...PLANES.map((plane, k) => planes[plane][cell] - evaluate(fits[k], terms[i]))),
    );
    const sorted = Float64Array.from(off).sort();
    spread = sorted[sorted.length >> 1];
    const early = round < ROUNDS - 2;
    const limit = early ? sorted[Math.floor(KEPT * sorted.length)] : Math.max(FURTHEST * spread, LEAST_SPREAD);
    used = cells.map((_, i) => i).filter((i) => off[i] <= limit);
  }
  return { distance: distances(planes, fits, width, height), spread };
}

/** Distances that count as nothing, whatever the spread. */
const LEAST_SPREAD = 1.5;

function sampled(seen: Uint8Array, width: number, height: number): number[] {
  let count = 0;
  for (let i = 0; i < seen.length; i++) count += seen[i];
  const step = Math.max(1, Math.floor(Math.sqrt(count / PLACES)));
  const cells: number[] = [];
  for (let y = step >> 1; y < height; y += step) {
    for (let x = step >> 1; x < width; x += step) if (seen[y * width + x]) cells.push(y * width + x);
  }
  if (cells.length < 4 * TERMS) throw new RangeError('too little of the table is seen round the slab');
  return cells;
}

function termsAt(cell: number, width: number, height: number): number[] {
  const x = ((cell % width) + 0.5) / (width / 2) - 1;
  const y = (Math.floor(cell / width) + 0.5) / (height / 2) - 1;
  return [1, x, y, x * x, x * y, y * y];
}

const evaluate = (fit: readonly number[], terms: readonly number[]): number =>
  fit.reduce((sum, value, k) => sum + value * terms[k], 0);

/** Normal equations with a touch of damping on all but the constant, so that pixels on one side only do not run wild. */
function leastSquares(rows: readonly number[][], values: readonly number[]): number[] {
  const normal = Matrix.zeros(TERMS, TERMS);
  const right = Matrix.zeros(TERMS, 1);
  rows.forEach((row, i) => {
    for (let p = 0; p < TERMS; p++) {
      right.set(p, 0, right.get(p, 0) + row[p] * values[i]);
      for (let q = 0; q < TERMS; q++) normal.set(p, q, normal.get(p, q) + row[p] * row[q]);
    }
  });
  for (let p = 1; p < TERMS; p++) normal.set(p, p, normal.get(p, p) + 1e-4 * rows.length);
  return solve(normal, right).to1DArray();
}

function distances(planes: LabPlanes, fits: readonly number[][], width: number, height: number): Float32Array {
  const out = new Float32Array(width * height);
  const [L, a, b] = fits;
  for (let j = 0; j < height; j++) {
    const y = (j + 0.5) / (height / 2) - 1;
    const rows = [L, a, b].map((f) => [f[0] + f[2] * y + f[5] * y * y, f[1] + f[4] * y, f[3]]);
    const [rowL, rowA, rowB] = rows;
    for (let i = 0; i < width; i++) {
      const x = (i + 0.5) / (width / 2) - 1;
      const at = j * width + i;
      const dL = planes.L[at] - (rowL[0] + x * (rowL[1] + x * rowL[2]));
      const da = planes.a[at] - (rowA[0] + x * (rowA[1] + x * rowA[2]));
      const db = planes.b[at] - (rowB[0] + x * (rowB[1] + x * rowB[2]));
      out[at] = Math.sqrt(dL * dL + da * da + db * db);
    }
  }
  return out;
}
