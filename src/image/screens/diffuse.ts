import type { DiffusionKernel } from './diffusion-kernels.ts';
import { callRowHook, type RowHook } from './row-hook.ts';

export interface DiffuseOptions {
  /** Every other row runs the other way. */
  readonly serpentine: boolean;
  /** Way of the first row; the mirror image of a picture screened leftwards is the picture screened rightwards. */
  readonly firstRow: 'rightwards' | 'leftwards';
  readonly onRow?: RowHook;
}

export const DIFFUSE_DEFAULTS: DiffuseOptions = { serpentine: false, firstRow: 'rightwards' };

/** Values to be screened, handed over row by row. */
export interface RowSource {
  readonly width: number;
  readonly height: number;
  /** 0 where there is no dot; null: dots everywhere. */
  readonly mask: Uint8Array | null;
  /** Writes the values (0–1, area averages in linear light) of row `y` into `row`. */
  readRow(y: number, row: Float32Array): void;
}

/** Dots beside either end of a row that a kernel may reach. */
const MARGIN = 2;

/**
 * Error diffusion: each dot becomes 255 where its value plus the errors it has received is at least 0.5, else 0, and hands the
 * difference on. Errors are kept in floating point and never clipped; shares that fall beside the picture are dropped. Where the
 * mask is 0 there is no dot: it stays 0, receives nothing and hands nothing on.
 * Memory: one row of errors per row of the kernel.
 * @throws Cancelled if the hook asks for it.
 */
export function diffuseRows(
  source: RowSource,
  kernel: DiffusionKernel,
  options: DiffuseOptions,
  out: Uint8Array = new Uint8Array(source.width * source.height),
): Uint8Array {
  const { width, height, mask } = source;
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
    callRowHook(options.onRow, y);
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
 * @throws RangeError if there are not width × height values; Cancelled.
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
