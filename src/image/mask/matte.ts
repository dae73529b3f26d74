import { components } from '../../base/geometry/raster-mask.ts';
import { breathe } from '../../base/stop.ts';
import { boxMean } from '../repair/box-mean.ts';

/** A picture to cut out: CIE L*, a*, b*, row-major. */
export interface MattePicture {
  readonly width: number;
  readonly height: number;
  readonly L: Float32Array;
  readonly a: Float32Array;
  readonly b: Float32Array;
}

interface MatteHooks {
  readonly onProgress?: (share: number) => void;
  readonly signal?: AbortSignal;
}

/** Marks on a picture: what stays, what goes; everything else is to be found. */
export const MARK = { none: 0, stays: 1, goes: 2 } as const;

/** Kinds of colour on either side, and rounds in which they are found. */
const KINDS = 6;

const KIND_ROUNDS = 12;

/** How often colours are learned anew from what was found. */
const ROUNDS = 3;

/** What colours weigh beside edges, in the first round and the later ones. */
const PRIOR = [0.02, 0.012, 0.008];

/** Weight of a link that crosses the sharpest edge. */
const WEAKEST = 1e-3;

/** Steps of the solver, and change at which it has come to rest. */
const MOST_STEPS = 500;

const SETTLED = 2e-3;

/** Reach of the soft edge, dots, for a picture of 512; what counts as flat there, (L* / 100)². */
const EDGE_REACH = 7;

const EDGE_FLAT = 2e-4;

/**
 * Tells what stays in a picture from what goes, from a few marks on either: a random walk that starts at each dot and likes to stay within
 * like colours ends at one kind of mark or the other; colours found under the marks draw it, too. What hangs together with no mark is
 * dropped, holes without a mark are filled, so there are no loose blobs. The edge then takes on the picture's own fine structure, hair
 * and ears, by a guided filter.
 * Source: L. Grady, "Multilabel random walker image segmentation using prior models", CVPR 2005; K. He, J. Sun, X. Tang, "Guided image
 * filtering", IEEE TPAMI 35, 2013, eqs. 19–21; kinds of colour as in C. Rother, V. Kolmogorov, A. Blake, "GrabCut", SIGGRAPH 2004.
 * Numbers are our own. Test: planted subjects (test/unit/mask-matte.test.ts).
 * @param marks values of `MARK`, row-major. @returns 0 goes … 255 stays.
 * @throws RangeError with a sentence if there is no mark of one kind; the signal's reason.
 */
export async function findMatte(picture: MattePicture, marks: Uint8Array, hooks: MatteHooks = {}): Promise<Uint8Array> {
  const { width, height } = picture;
  if (marks.length !== width * height) throw new RangeError(`${width} × ${height} dots need as many marks`);
  if (!marks.includes(MARK.stays)) throw new RangeError('mark a bit of what stays first');
  if (!marks.includes(MARK.goes)) throw new RangeError('mark a bit of what goes, too');
  const colors = interleaved(picture);
  const links = linksOf(colors, width, height);
  const chance = Float64Array.from(marks, (mark) => (mark === MARK.stays ? 1 : mark === MARK.goes ? 0 : 0.5));
  for (let round = 0; round < ROUNDS; round++) {
    // First by the marks alone; then by what is nearly sure.
    const isOf = (side: 0 | 1) => (i: number) =>
      round === 0
        ? marks[i] === (side === 1 ? MARK.stays : MARK.goes)
        : side === 1
          ? chance[i] > 0.85
          : chance[i] < 0.15;
    const stays = kindsOf(colors, isOf(1));
    const goes = kindsOf(colors, isOf(0));
    await breathe(hooks.signal);
    const prior = new Float64Array(marks.length);
    for (let i = 0; i < prior.length; i++) {
      const [inside, outside] = [likelihood(stays, colors, i), likelihood(goes, colors, i)];
      prior[i] = (inside + 1e-9) / (inside + outside + 2e-9);
    }
    await breathe(hooks.signal);
    await walk(chance, links, marks, prior, PRIOR[round], width, height, {
      signal: hooks.signal,
      onProgress: (share) => hooks.onProgress?.((round + share) / (ROUNDS + 0.5)),
    });
  }
  const whole = hangingTogether(chance, marks, width, height);
  await breathe(hooks.signal);
  return softened(picture, whole, marks);
}

/** L*, a*, b* of each dot over 100, one after the other. */
function interleaved({ L, a, b }: MattePicture): Float32Array {
  const out = new Float32Array(3 * L.length);
  for (let i = 0; i < L.length; i++) {
    out[3 * i] = L[i] / 100;
    out[3 * i + 1] = a[i] / 100;
    out[3 * i + 2] = b[i] / 100;
  }
  return out;
}

const square = (colors: Float32Array, i: number, j: number): number =>
  (colors[3 * i] - colors[3 * j]) ** 2 +
  (colors[3 * i + 1] - colors[3 * j + 1]) ** 2 +
  (colors[3 * i + 2] - colors[3 * j + 2]) ** 2;

/** How readily the walk goes to the right and down from each dot. */
interface Links {
  readonly right: Float64Array;
  readonly down: Float64Array;
}

function linksOf(colors: Float32Array, width: number, height: number): Links {
  const count = width * height;
  const right = new Float64Array(count);
  const down = new Float64Array(count);
  let sum = 0;
  for (let i = 0; i < count; i++) {
    if (i % width < width - 1) sum += right[i] = square(colors, i, i + 1);
    if (i + width < count) sum += down[i] = square(colors, i, i + width);
  }
  const falls = count / Math.max(sum, 1e-9);
  for (let i = 0; i < count; i++) {
    right[i] = i % width < width - 1 ? Math.exp(-falls * right[i]) + WEAKEST : 0;
    down[i] = i + width < count ? Math.exp(-falls * down[i]) + WEAKEST : 0;
  }
  return { right, down };
}

/** One kind of colour: a normal distribution with its share of all. */
interface Kind {
  readonly share: number;
  readonly mean: readonly number[];
  /** Inverse of the covariance, and 1 over the root of its determinant. */
  readonly inverse: readonly number[];
  readonly height: number;
}

/** Most dots that kinds are found from. */
const MOST_DOTS = 6000;

/** Kinds of colour among some dots: k-means, begun with the farthest ones, then a normal distribution each. */
function kindsOf(colors: Float32Array, belongs: (i: number) => boolean): Kind[] {
  const count = colors.length / 3;
  const all: number[] = [];
  for (let i = 0; i < count; i++) if (belongs(i)) all.push(i);
  const step = Math.max(1, Math.floor(all.length / MOST_DOTS));
  const dots = all.filter((_, k) => k % step === 0);
  if (dots.length === 0) return [];
  const means: number[][] = [[0, 1, 2].map((k) => dots.reduce((sum, i) => sum + colors[3 * i + k], 0) / dots.length)];
  const off = (i: number, mean: readonly number[]) =>
    (colors[3 * i] - mean[0]) ** 2 + (colors[3 * i + 1] - mean[1]) ** 2 + (colors[3 * i + 2] - mean[2]) ** 2;
  const nearest = new Float64Array(dots.length).fill(Number.POSITIVE_INFINITY);
  while (means.length < Math.min(KINDS, dots.length)) {
    let [farthest, most] = [0, -1];
    dots.forEach((i, n) => {
      nearest[n] = Math.min(nearest[n], off(i, means[means.length - 1]));
      if (nearest[n] > most) [farthest, most] = [n, nearest[n]];
    });
    const i = dots[farthest];
    means.push([colors[3 * i], colors[3 * i + 1], colors[3 * i + 2]]);
  }
  const of = new Uint8Array(dots.length);
  for (let round = 0; round < KIND_ROUNDS; round++) {
    const sums = means.map(() => [0, 0, 0, 0]);
    dots.forEach((i, n) => {
      let best = 0;
      for (let k = 1; k < means.length; k++) if (off(i, means[k]) < off(i, means[best])) best = k;
      of[n] = best;
      for (let c = 0; c < 3; c++) sums[best][c] += colors[3 * i + c];
      sums[best][3]++;
    });
    sums.forEach((sum, k) => {
      if (sum[3] > 0) means[k] = [sum[0] / sum[3], sum[1] / sum[3], sum[2] / sum[3]];
    });
  }
  return means.flatMap((mean, k): Kind[] => {
    const own = dots.filter((_, n) => of[n] === k);
    return own.length === 0 ? [] : [normalOf(colors, own, mean, own.length / dots.length)];
  });
}

/** Least variance of a kind: what paint and noise make of one colour. */
const LEAST_VARIANCE = 4e-4;

function normalOf(colors: Float32Array, dots: readonly number[], mean: readonly number[], share: number): Kind {
  const cov = [0, 0, 0, 0, 0, 0];
  for (const i of dots) {
    const [x, y, z] = [colors[3 * i] - mean[0], colors[3 * i + 1] - mean[1], colors[3 * i + 2] - mean[2]];
    [x * x, x * y, x * z, y * y, y * z, z * z].forEach((value, k) => {
      cov[k] += value / dots.length;
    });
  }
  for (const k of [0, 3, 5]) cov[k] += LEAST_VARIANCE;
  const { inverse, determinant } = inverted(cov);
  return { share, mean, inverse, height: 1 / Math.sqrt(determinant) };
}

/** The inverse of a symmetric matrix of 3 × 3, told by xx, xy, xz, yy, yz, zz. */
function inverted([xx, xy, xz, yy, yz, zz]: readonly number[]): { inverse: number[]; determinant: number } {
  const [a, b, c] = [yy * zz - yz * yz, xz * yz - xy * zz, xy * yz - xz * yy];
  const determinant = xx * a + xy * b + xz * c;
  const inverse = [a, b, c, xx * zz - xz * xz, xy * xz - xx * yz, xx * yy - xy * xy].map(
    (value) => value / determinant,
  );
  return { inverse, determinant };
}

function likelihood(kinds: readonly Kind[], colors: Float32Array, i: number): number {
  let sum = 0;
  for (const { share, mean, inverse: m, height } of kinds) {
    const x = colors[3 * i] - mean[0];
    const y = colors[3 * i + 1] - mean[1];
    const z = colors[3 * i + 2] - mean[2];
    const far = x * (m[0] * x + 2 * m[1] * y + 2 * m[2] * z) + y * (m[3] * y + 2 * m[4] * z) + m[5] * z * z;
    sum += share * height * Math.exp(-far / 2);
  }
  return sum;
}

/**
 * Where walks end: (L + γ) x = γ p with x held at the marks, by conjugate gradients with the diagonal as preconditioner, begun at what is
 * there.
 */
async function walk(
  chance: Float64Array,
  { right, down }: Links,
  marks: Uint8Array,
  prior: Float64Array,
  weight: number,
  width: number,
  height: number,
  hooks: MatteHooks,
): Promise<void> {
  const count = width * height;
  const diagonal = new Float64Array(count).fill(weight);
  for (let i = 0; i < count; i++) {
    diagonal[i] += right[i] + down[i];
    if (i % width > 0) diagonal[i] += right[i - 1];
    if (i >= width) diagonal[i] += down[i - width];
  }
  const apply = (x: Float64Array, out: Float64Array) => {
    for (let i = 0; i < count; i++) {
      if (marks[i] !== MARK.none) {
        out[i] = 0;
        continue;
      }
      let sum = diagonal[i] * x[i];
      if (right[i] > 0) sum -= right[i] * x[i + 1];
      if (down[i] > 0) sum -= down[i] * x[i + width];
      if (i % width > 0) sum -= right[i - 1] * x[i - 1];
      if (i >= width) sum -= down[i - width] * x[i - width];
      out[i] = sum;
    }
  };
  const product = new Float64Array(count);
  apply(chance, product);
  const residual = new Float64Array(count);
  const direction = new Float64Array(count);
  let energy = 0;
  for (let i = 0; i < count; i++) {
    residual[i] = marks[i] === MARK.none ? weight * prior[i] - product[i] : 0;
    direction[i] = residual[i] / diagonal[i];
    energy += residual[i] * direction[i];
  }
  for (let step = 0; step < MOST_STEPS && energy > 0; step++) {
    apply(direction, product);
    let along = 0;
    for (let i = 0; i < count; i++) along += direction[i] * product[i];
    const go = energy / along;
    let largest = 0;
    let next = 0;
    for (let i = 0; i < count; i++) {
      chance[i] += go * direction[i];
      const change = Math.abs(go * direction[i]);
      if (change > largest) largest = change;
      residual[i] -= go * product[i];
      next += (residual[i] * residual[i]) / diagonal[i];
    }
    if (largest < SETTLED) break;
    const keep = next / energy;
    energy = next;
    for (let i = 0; i < count; i++) direction[i] = residual[i] / diagonal[i] + keep * direction[i];
    if (step % 8 === 0) {
      hooks.onProgress?.(step / MOST_STEPS);
      await breathe(hooks.signal);
    }
  }
}

/** 1 where a dot stays: what is likelier to, as far as it hangs together with a mark; islands of what goes without a mark stay, too. */
function hangingTogether(chance: Float64Array, marks: Uint8Array, width: number, height: number): Float32Array {
  const stays = Uint8Array.from(chance, (value) => (value > 0.5 ? 1 : 0));
  for (const { cells } of components(stays, width, height)) {
    if (!cells.some((i) => marks[i] === MARK.stays)) for (const i of cells) stays[i] = 0;
  }
  const goes = stays.map((value) => 1 - value);
  for (const { cells } of components(goes, width, height)) {
    const marked = cells.some((i) => marks[i] === MARK.goes);
    const small = cells.length < HOLE_SHARE * goes.length;
    const atRim = cells.some(
      (i) => i % width === 0 || i % width === width - 1 || i < width || i >= goes.length - width,
    );
    if (!marked && small && !atRim) for (const i of cells) stays[i] = 1;
  }
  return new Float32Array(stays);
}

/** A hole that nobody marked and that is larger than this share of the picture is seen through, between an arm and a body. */
const HOLE_SHARE = 0.004;

/** The edge led by the picture's own colours; what is farther from it than the filter reaches stays as it is. */
function softened(picture: MattePicture, whole: Float32Array, marks: Uint8Array): Uint8Array {
  const { width, height } = picture;
  const radius = Math.max(2, Math.round((EDGE_REACH * Math.max(width, height)) / 512));
  const mean = (plane: Float32Array) => boxMean(plane, width, height, radius);
  const guide = [picture.L, picture.a, picture.b].map((plane) => plane.map((value) => value / 100));
  const times = (one: Float32Array, other: Float32Array) => one.map((value, i) => value * other[i]);
  const means = guide.map(mean);
  const meanWhole = mean(whole);
  const cross = guide.map((plane) => mean(times(plane, whole)));
  const squares = [
    [0, 0],
    [0, 1],
    [0, 2],
    [1, 1],
    [1, 2],
    [2, 2],
  ].map(([p, q]) => mean(times(guide[p], guide[q])));
  const slopes = guide.map(() => new Float32Array(whole.length));
  const level = new Float32Array(whole.length);
  for (let i = 0; i < whole.length; i++) {
    const [x, y, z] = means.map((plane) => plane[i]);
    const { inverse: m } = inverted([
      squares[0][i] - x * x + EDGE_FLAT,
      squares[1][i] - x * y,
      squares[2][i] - x * z,
      squares[3][i] - y * y + EDGE_FLAT,
      squares[4][i] - y * z,
      squares[5][i] - z * z + EDGE_FLAT,
    ]);
    const [u, v, w] = [x, y, z].map((value, k) => cross[k][i] - value * meanWhole[i]);
    slopes[0][i] = m[0] * u + m[1] * v + m[2] * w;
    slopes[1][i] = m[1] * u + m[3] * v + m[4] * w;
    slopes[2][i] = m[2] * u + m[4] * v + m[5] * w;
    level[i] = meanWhole[i] - slopes[0][i] * x - slopes[1][i] * y - slopes[2][i] * z;
  }
  const smooth = slopes.map(mean);
  const smoothLevel = mean(level);
  const out = new Uint8Array(whole.length);
  for (let i = 0; i < out.length; i++) {
    const value = smooth[0][i] * guide[0][i] + smooth[1][i] * guide[1][i] + smooth[2][i] * guide[2][i] + smoothLevel[i];
    // What is nearly gone or nearly whole is: a veil over the background would be burned.
    const share = Math.min(1, Math.max(0, (value - 0.12) / 0.76));
    const marked = marks[i] === MARK.stays ? 1 : marks[i] === MARK.goes ? 0 : share;
    out[i] = Math.round(255 * (meanWhole[i] === 0 ? 0 : meanWhole[i] === 1 ? 1 : marked));
  }
  return out;
}
