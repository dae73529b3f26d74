import { createGenerator } from '../../base/random/generator.ts';
import { isModelMethod, type ModelMethod, SCREEN_METHODS, type ScreenMethod } from '../../piece/schema.ts';
import { lightnessToLuminance, luminanceToLightness } from '../lightness.ts';
import type { RowSource, ToneImage } from '../picture.ts';
import { diffuseByTone } from './tone-dependent.ts';

interface ScreenOptions {
  /** Every other row is screened backwards; only error diffusion heeds it. */
  readonly serpentine: boolean;
}

const SCREEN_DEFAULTS: ScreenOptions = { serpentine: true };

/**
 * The burn share at the light end for each dot: 255 light-end power, 0 dark-end power. Screens of dots average in linear light, so
 * lightness becomes luminance first; continuous tone is round(255 × lightness). Where the mask is 0 the share is 0 and, for error
 * diffusion, there is no dot; where it is between, the picture fades to the dark end. Not-a-number counts as 0.
 * What is placed by the burn (`burn/place-dots.ts`) is diffused after Floyd and Steinberg where no burn is known.
 * @throws RangeError if an array has another length than width × height.
 */
export function screenTone(image: ToneImage, method: ScreenMethod, options: Partial<ScreenOptions> = {}): Uint8Array {
  const { width, height, lightness, mask } = image;
  if ([lightness, mask].some((array) => array.length !== width * height)) {
    throw new RangeError(`a tone image of ${width} × ${height} dots needs as many values in each array`);
  }
  const { serpentine } = { ...SCREEN_DEFAULTS, ...options };
  const source: RowSource = { width, height, mask, readRow: (y, row) => readLuminance(image, y, row) };
  if (method === 'continuous') return gradeRows(source);
  if (method === 'tone-dependent') return diffuseByTone(source, serpentine);
  if (isDiffusion(method) || isModelMethod(method)) {
    const modelled = isModelMethod(method);
    const kernel = DIFFUSION_KERNELS[modelled ? 'floyd-steinberg' : method];
    return diffuseRows(source, kernel, { ...DIFFUSE_DEFAULTS, serpentine: serpentine || modelled });
  }
  return thresholdRows(source, thresholdMatrix(method));
}

const isDiffusion = (method: ScreenMethod): method is DiffusionMethod => method in DIFFUSION_KERNELS;

type OrderedMethod = Exclude<ScreenMethod, DiffusionMethod | ModelMethod | 'tone-dependent' | 'continuous'>;

const MATRICES: Record<OrderedMethod, () => ThresholdMatrix> = {
  'bayer-2': () => createBayerMatrix(2),
  'bayer-4': () => createBayerMatrix(4),
  'bayer-8': () => createBayerMatrix(8),
  'bayer-16': () => createBayerMatrix(16),
  'clustered-dot': () => createClusteredDotMatrix(8),
  'blue-noise': () => createBlueNoiseMatrix(),
};

const made = new Map<OrderedMethod, ThresholdMatrix>();

/** The matrix of an ordered method, made at the first call and kept (blue noise takes about a tenth of a second). */
function thresholdMatrix(method: OrderedMethod): ThresholdMatrix {
  const matrix = made.get(method) ?? MATRICES[method]();
  made.set(method, matrix);
  return matrix;
}

function readLuminance({ width, lightness, mask }: ToneImage, y: number, row: Float32Array): void {
  for (let x = 0, i = y * width; x < width; x++, i++) row[x] = (lightnessToLuminance(lightness[i]) * mask[i]) / 255;
}

function gradeRows(source: RowSource): Uint8Array {
  const out = new Uint8Array(source.width * source.height);
  const row = new Float32Array(source.width);
  for (let y = 0, i = 0; y < source.height; y++) {
    source.readRow(y, row);
    for (let x = 0; x < source.width; x++, i++) out[i] = Math.round(255 * luminanceToLightness(row[x]));
  }
  return out;
}

/**
 * Bayer's matrix of dispersed dots: neighbouring ranks lie as far apart as they can.
 * Recursion: M₁ = 0; M₂ₙ is four copies of 4·Mₙ with 0, 2 / 3, 1 added.
 * Source: B. E. Bayer, "An optimum method for two-level rendition of continuous-tone pictures", IEEE ICC 1973.
 * @throws RangeError if the size is not a power of two from 1 to 256.
 */
export function createBayerMatrix(size: number): ThresholdMatrix {
  if (!(size >= 1 && size <= 256 && Number.isInteger(Math.log2(size)))) {
    throw new RangeError(`a Bayer matrix has a power of two as its size, got ${size}`);
  }
  const ranks = new Uint16Array(size * size);
  for (let y = 0; y < size; y++) {
    for (let x = 0; x < size; x++) {
      let rank = 0;
      for (let bit = 1; bit < size; bit *= 2) {
        const right = x & bit ? 1 : 0;
        const down = y & bit ? 1 : 0;
        rank = rank * 4 + (down ? 3 - 2 * right : 2 * right);
      }
      ranks[y * size + x] = rank;
    }
  }
  return { size, ranks };
}

/**
 * Clustered dots at 45°: two round spots per square of `size` dots, which grow until they touch at half tone and then leave
 * round holes. The order is that of a spot function, here cos 2πu · cos 2πv with peaks in the corners and in the middle of the
 * square; dots it cannot tell apart take turns between the two spots, and go round each of them.
 * Source of the idea: R. Ulichney, "Digital Halftoning", MIT Press 1987, ch. 5 (clustered-dot ordered dither, the classical screen).
 * @param size even, ≥ 2 and ≤ 256.
 * @throws RangeError for another size.
 */
export function createClusteredDotMatrix(size: number): ThresholdMatrix {
  if (!(size >= 2 && size <= 256 && size % 2 === 0))
    throw new RangeError(`a clustered dot needs an even size, got ${size}`);
  const dots = Array.from({ length: size * size }, (_, index) => {
    const u = ((index % size) + 0.5) / size;
    const v = (Math.floor(index / size) + 0.5) / size;
    const inMiddle = Math.abs(u - 0.5) + Math.abs(v - 0.5) < 0.5;
    const centre = inMiddle ? 0.5 : 0;
    return {
      index,
      spot: Math.round(1e6 * Math.cos(2 * Math.PI * u) * Math.cos(2 * Math.PI * v)),
      angle: Math.round(1e6 * Math.atan2(toNearest(v - centre), toNearest(u - centre))),
      inMiddle: Number(inMiddle),
    };
  });
  dots.sort((a, b) => b.spot - a.spot || a.angle - b.angle || a.inMiddle - b.inMiddle || a.index - b.index);
  const ranks = new Uint16Array(size * size);
  dots.forEach((dot, rank) => {
    ranks[dot.index] = rank;
  });
  return { size, ranks };
}

/** Distance on a circle of length 1, −0.5 … 0.5. */
const toNearest = (distance: number): number => distance - Math.round(distance);

interface VoidAndClusterOptions {
  readonly size: number;
  readonly seed: number;
}

const VOID_AND_CLUSTER_DEFAULTS: VoidAndClusterOptions = { size: 64, seed: 1993 };

/** Standard deviation, in dots, of the Gaussian that measures crowding. */
const SIGMA = 1.5;

/** A second, wide and faint one. It decides where the first is blind, in tones of a few dots in a hundred; ours, not Ulichney's. */
const WIDE_SIGMA = 5;

const WIDE_SHARE = 1e-3;

/**
 * Blue-noise matrix by void-and-cluster: starts from a tenth of dots thrown at random and evened out by moving dots from the
 * tightest cluster to the largest void, ranks these by taking away the tightest cluster, and all others by filling the largest
 * void. (Ulichney's third phase, the tightest cluster of unfilled dots, picks the same dot, as crowding is a plain sum.)
 * Crowding is summed in whole numbers, so that ties are ties on every machine.
 * Source: R. Ulichney, "The void-and-cluster method for dither array generation", Proc. SPIE 1913, 1993, with σ = 1.5 and a faint wide tail of ours.
 * @param options size 2 … 256 and seed.
 * @throws RangeError for another size or an impossible seed.
 */
export function createBlueNoiseMatrix(options: VoidAndClusterOptions = VOID_AND_CLUSTER_DEFAULTS): ThresholdMatrix {
  const { size, seed } = options;
  if (!(Number.isInteger(size) && size >= 2 && size <= 256))
    throw new RangeError(`blue noise needs a size of 2–256, got ${size}`);
  const count = size * size;
  const pattern = createPattern(size);
  scatter(pattern, Math.max(1, Math.round(count / 10)), seed);
  evenOut(pattern);

  const ranks = new Uint16Array(count);
  const start = pattern.filled.slice();
  const filled = start.reduce((sum, dot) => sum + dot, 0);
  for (let rank = filled - 1; rank >= 0; rank--) {
    const dot = tightestCluster(pattern);
    toggle(pattern, dot);
    ranks[dot] = rank;
  }
  start.forEach((dot, index) => {
    if (dot) toggle(pattern, index);
  });
  for (let rank = filled; rank < count; rank++) {
    const dot = largestVoid(pattern);
    toggle(pattern, dot);
    ranks[dot] = rank;
  }
  return { size, ranks };
}

interface Pattern {
  readonly size: number;
  readonly filled: Uint8Array;
  /** Sum of the Gaussians of all other filled dots. */
  readonly crowding: Float64Array;
  /** Gaussian by distance in x and y; 0 for the dot itself. */
  readonly gaussian: Float64Array;
}

function createPattern(size: number): Pattern {
  const gaussian = Float64Array.from({ length: size * size }, (_, i) => {
    const x = Math.min(i % size, size - (i % size));
    const row = Math.floor(i / size);
    const y = Math.min(row, size - row);
    const square = x * x + y * y;
    const near = Math.exp(-square / (2 * SIGMA * SIGMA));
    return square && Math.round(2 ** 30 * (near + WIDE_SHARE * Math.exp(-square / (2 * WIDE_SIGMA * WIDE_SIGMA))));
  });
  return { size, gaussian, filled: new Uint8Array(size * size), crowding: new Float64Array(size * size) };
}

function toggle(pattern: Pattern, dot: number): void {
  const { size, filled, crowding, gaussian } = pattern;
  filled[dot] ^= 1;
  const sign = filled[dot] ? 1 : -1;
  const dotX = dot % size;
  const dotY = (dot - dotX) / size;
  for (let y = 0, i = 0; y < size; y++) {
    const row = ((y - dotY + size) % size) * size;
    for (let x = 0, dx = dotX ? size - dotX : 0; x < size; x++, i++) {
      crowding[i] += sign * gaussian[row + dx];
      dx = dx + 1 === size ? 0 : dx + 1;
    }
  }
}

function scatter(pattern: Pattern, dots: number, seed: number): void {
  const random = createGenerator(seed);
  for (let placed = 0; placed < dots; ) {
    const dot = random.nextUint32() % pattern.filled.length;
    if (pattern.filled[dot]) continue;
    toggle(pattern, dot);
    placed++;
  }
}

/** Each move lowers the crowding of the whole, so it comes to an end. */
function evenOut(pattern: Pattern): void {
  for (;;) {
    const from = tightestCluster(pattern);
    toggle(pattern, from);
    const to = largestVoid(pattern);
    const better = pattern.crowding[to] < pattern.crowding[from];
    toggle(pattern, better ? to : from);
    if (!better) return;
  }
}

function tightestCluster({ filled, crowding }: Pattern): number {
  let best = -1;
  for (let i = 0; i < filled.length; i++) if (filled[i] && (best < 0 || crowding[i] > crowding[best])) best = i;
  return best;
}

function largestVoid({ filled, crowding }: Pattern): number {
  let best = -1;
  for (let i = 0; i < filled.length; i++) if (!filled[i] && (best < 0 || crowding[i] < crowding[best])) best = i;
  return best;
}

/** A square of ranks that tiles the picture: the dot with rank 0 turns light first, that with the highest rank last. */
export interface ThresholdMatrix {
  readonly size: number;
  /** Every whole number from 0 to size² − 1 once, row-major. */
  readonly ranks: Uint16Array;
}

/**
 * Ordered screening: a dot becomes 255 where its value is at least (rank + 0.5) / size², else 0; with a flat value v,
 * round(v · size²) dots of each tile are light. Where the mask is 0 the dot stays 0.
 */
function thresholdRows(source: RowSource, { size, ranks }: ThresholdMatrix): Uint8Array {
  const { width, height, mask } = source;
  const out = new Uint8Array(width * height);
  const thresholds = Float64Array.from(ranks, (rank) => (rank + 0.5) / (size * size));
  const values = new Float32Array(width);
  for (let y = 0; y < height; y++) {
    source.readRow(y, values);
    const at = y * width;
    const tile = (y % size) * size;
    for (let x = 0, column = 0; x < width; x++) {
      out[at + x] = values[x] >= thresholds[tile + column] && (mask === null || mask[at + x] !== 0) ? 255 : 0;
      column = column + 1 === size ? 0 : column + 1;
    }
  }
  return out;
}

interface DiffuseOptions {
  /** Every other row runs the other way. */
  readonly serpentine: boolean;
  /** Way of the first row; the mirror image of a picture screened leftwards is the picture screened rightwards. */
  readonly firstRow: 'rightwards' | 'leftwards';
}

const DIFFUSE_DEFAULTS: DiffuseOptions = { serpentine: false, firstRow: 'rightwards' };

/** Dots beside either end of a row that a kernel may reach. */
const MARGIN = 2;

/**
 * Error diffusion: each dot becomes 255 where its value plus the errors it has received is at least 0.5, else 0, and hands the
 * difference on. Errors are kept in floating point and never clipped; shares that fall beside the picture are dropped. Where the
 * mask is 0 there is no dot: it stays 0, receives nothing and hands nothing on.
 * Memory: one row of errors per row of the kernel.
 */
function diffuseRows(source: RowSource, kernel: DiffusionKernel, options: DiffuseOptions): Uint8Array {
  const { width, height, mask } = source;
  const out = new Uint8Array(width * height);
  const depth = 1 + Math.max(...kernel.taps.map((tap) => tap.dy));
  const errors = Array.from({ length: depth }, () => new Float64Array(width + 2 * MARGIN));
  // A dot gathers the errors of its predecessors, so every tap is read against its direction.
  const gathered = errors.map((_, dy): Gathered => {
    const taps = kernel.taps.filter((tap) => tap.dy === dy);
    const padded = Array.from({ length: TAPS }, (__, k) => taps[k] ?? { dx: 0, weight: 0 });
    return {
      weights: padded.map(({ weight }) => weight / kernel.divisor),
      rightwards: padded.map(({ dx }) => MARGIN - dx),
      leftwards: padded.map(({ dx }) => MARGIN + dx),
    };
  });
  const values = new Float32Array(width);
  const sums = new Float64Array(width);

  const isBackwards = (y: number): boolean =>
    (options.firstRow === 'leftwards') !== (options.serpentine && Math.abs(y) % 2 === 1);

  for (let y = 0; y < height; y++) {
    source.readRow(y, values);
    sums.set(values);
    // Errors come from where the row that made them was heading, which with serpentine rows is not where this one heads.
    for (let dy = depth - 1; dy > 0; dy--) gatherRow(sums, errors[dy], gathered[dy], isBackwards(y - dy));
    diffuseRow(
      sums,
      mask?.subarray(y * width, (y + 1) * width) ?? null,
      errors[0],
      gathered[0],
      isBackwards(y),
      out,
      y,
    );
    errors.unshift(errors.pop()!);
  }
  return out;
}

/** Most taps that a kernel has in one row. */
const TAPS = 5;

/** Where a row's dots read the errors of one row, by that one's heading; padded with taps that weigh nothing. */
interface Gathered {
  readonly weights: readonly number[];
  readonly rightwards: readonly number[];
  readonly leftwards: readonly number[];
}

/** Adds what a row gets from one before it. Taps are named one by one for speed: this is most of the slowest step before the burn. */
function gatherRow(sums: Float64Array, errors: Float64Array, gathered: Gathered, backwards: boolean): void {
  const [w0, w1, w2, w3, w4] = gathered.weights;
  const [at0, at1, at2, at3, at4] = backwards ? gathered.leftwards : gathered.rightwards;
  for (let x = 0; x < sums.length; x++) {
    sums[x] =
      sums[x] +
      errors[x + at0] * w0 +
      errors[x + at1] * w1 +
      errors[x + at2] * w2 +
      errors[x + at3] * w3 +
      errors[x + at4] * w4;
  }
}

/** Decides a row's dots, one after the other, with the errors that they hand on along it: two taps at most. */
function diffuseRow(
  sums: Float64Array,
  mask: Uint8Array | null,
  errors: Float64Array,
  gathered: Gathered,
  backwards: boolean,
  out: Uint8Array,
  y: number,
): void {
  const width = sums.length;
  const [w0, w1] = gathered.weights;
  const [at0, at1] = backwards ? gathered.leftwards : gathered.rightwards;
  const step = backwards ? -1 : 1;
  for (let i = 0, x = backwards ? width - 1 : 0; i < width; i++, x += step) {
    if (mask !== null && mask[x] === 0) {
      out[y * width + x] = 0;
      errors[x + MARGIN] = 0;
      continue;
    }
    const value = sums[x] + errors[x + at0] * w0 + errors[x + at1] * w1;
    const light = +(value >= 0.5);
    out[y * width + x] = 255 * light;
    errors[x + MARGIN] = value - light;
  }
}

/**
 * `diffuseRows` for values that lie in an array, without a mask: what comes in is screened as it is, and not taken for lightness.
 * @throws RangeError if there are not width × height values.
 */
export function diffuseValues(
  values: Float32Array,
  width: number,
  height: number,
  kernel: DiffusionKernel,
  options: Partial<DiffuseOptions> = {},
): Uint8Array {
  if (values.length !== width * height) {
    throw new RangeError(`${width} × ${height} dots need as many values, got ${values.length}`);
  }
  const readRow = (y: number, row: Float32Array) => row.set(values.subarray(y * width, (y + 1) * width));
  return diffuseRows({ width, height, mask: null, readRow }, kernel, { ...DIFFUSE_DEFAULTS, ...options });
}

/** Where a dot's error goes: `dx` dots further in the direction of travel, `dy` rows down, `weight / divisor` of it. */
interface DiffusionTap {
  readonly dx: number;
  readonly dy: number;
  readonly weight: number;
}

export interface DiffusionKernel {
  readonly divisor: number;
  readonly taps: readonly DiffusionTap[];
}

/**
 * Reads a kernel as it is printed: the first row starts at the dot itself, the other rows are centred under it.
 * Zeros are left out.
 */
function kernel(divisor: number, ahead: readonly number[], ...below: readonly (readonly number[])[]): DiffusionKernel {
  const taps = [
    ...ahead.map((weight, i) => ({ dx: i + 1, dy: 0, weight })),
    ...below.flatMap((row, y) => row.map((weight, i) => ({ dx: i - (row.length - 1) / 2, dy: y + 1, weight }))),
  ];
  return { divisor, taps: taps.filter((tap) => tap.weight > 0) };
}

/**
 * Weights of the error-diffusion methods.
 * Sources: R. Floyd, L. Steinberg, Proc. SID 17(2), 1976; J. Jarvis, C. Judice, W. Ninke, Comput. Graph. Image Process. 5, 1976;
 * P. Stucki, IBM Research Report RZ1060, 1981.
 */
export const DIFFUSION_KERNELS = {
  'floyd-steinberg': kernel(16, [7], [3, 5, 1]),
  'jarvis-judice-ninke': kernel(48, [7, 5], [3, 5, 7, 5, 3], [1, 3, 5, 3, 1]),
  stucki: kernel(42, [8, 4], [2, 4, 8, 4, 2], [1, 2, 4, 2, 1]),
} as const satisfies Partial<Record<ScreenMethod, DiffusionKernel>>;

export type DiffusionMethod = keyof typeof DIFFUSION_KERNELS;

export type ScreenKind =
  | 'by the burn'
  | 'error diffusion'
  | 'ordered'
  | 'blue noise'
  | 'clustered dot'
  | 'continuous tone';

interface ScreenInfo {
  readonly method: ScreenMethod;
  /** Published name of the method, with author and year. */
  readonly title: string;
  /** What it looks like: the name it goes by. */
  readonly look: string;
  readonly kind: ScreenKind;
  /** Whether it heeds the choice of running every other row backwards. */
  readonly serpentine: boolean;
  /** What it does to the wood, in one line. */
  readonly note: string;
}

const ABOUT: Record<ScreenMethod, readonly [look: string, title: string, kind: ScreenKind, note: string]> = {
  'model-diffusion': [
    'Even, by the burn',
    'Model-based error diffusion, Pappas and Neuhoff (1995)',
    'by the burn',
    'Each dot is placed by what paint, beam and heat will make of it. Tones come out right by themselves: the tone curve is left out.',
  ],
  'direct-search': [
    'Truest, by the burn',
    'Direct binary search, Analoui and Allebach (1992)',
    'by the burn',
    'The same, then every dot is moved until the burned picture looks nearest to the photograph: the calmest and truest, and it takes a minute.',
  ],
  'floyd-steinberg': [
    'Fine grain',
    'Floyd–Steinberg (1976)',
    'error diffusion',
    'Finest detail and smooth tones; even light areas may show faint worm-like rows of dots.',
  ],
  'jarvis-judice-ninke': [
    'Calm grain',
    'Jarvis, Judice and Ninke (1976)',
    'error diffusion',
    'Spreads each error wide: calm mid tones and crisper edges, a little coarser in highlights and shadows.',
  ],
  stucki: ['Crisp', 'Stucki (1981)', 'error diffusion', 'Like calm grain with slightly sharper edges.'],
  'tone-dependent': [
    'Fine and even',
    'Tone-dependent error diffusion, Zhou and Fang (2003)',
    'error diffusion',
    'As fine as fine grain, without its worms: how errors are handed on is fitted to each tone.',
  ],
  'bayer-2': [
    'Woven, five tones',
    'Bayer 2 × 2 (1973)',
    'ordered',
    'Five tones only, in a regular grid; for graphic pictures.',
  ],
  'bayer-4': ['Woven, coarse', 'Bayer 4 × 4 (1973)', 'ordered', 'Seventeen tones in a visible regular grid.'],
  'bayer-8': ['Woven', 'Bayer 8 × 8 (1973)', 'ordered', 'Regular cross-hatched texture; every flat area burns evenly.'],
  'bayer-16': ['Woven, fine tones', 'Bayer 16 × 16 (1973)', 'ordered', 'As 8 × 8 with finer steps of tone.'],
  'blue-noise': [
    'Even grain',
    'Void-and-cluster, Ulichney (1993)',
    'blue noise',
    'Even grain without worms or grids; each dot depends on its own tone only, so retouching stays local.',
  ],
  'clustered-dot': [
    'Newspaper dots',
    'Clustered dot at 45°, Ulichney (1987)',
    'clustered dot',
    'Dots grow in groups like a newspaper screen: forgiving of a wide beam and of thick spots in the coat, less detail.',
  ],
  continuous: [
    'No dots',
    'Continuous tone',
    'continuous tone',
    'Power follows lightness dot by dot: no grain, but each tone must be above the threshold of the coat to show.',
  ],
};

/** What there is to know about each screen, in the order in which they are offered. */
export const SCREENS: readonly ScreenInfo[] = SCREEN_METHODS.map((method) => {
  const [look, title, kind, note] = ABOUT[method];
  return { method, look, title, kind, note, serpentine: kind === 'error diffusion' };
});

export const screenOf = (method: ScreenMethod): ScreenInfo => SCREENS[SCREEN_METHODS.indexOf(method)];
