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
  const tapsOfRow = errors.map((_, dy) => kernel.taps.filter((tap) => tap.dy === dy));
  const weights = tapsOfRow.map((taps) => Float64Array.from(taps, (tap) => tap.weight / kernel.divisor));
  const rightwards = tapsOfRow.map((taps) => Int32Array.from(taps, (tap) => MARGIN - tap.dx));
  const leftwards = tapsOfRow.map((taps) => Int32Array.from(taps, (tap) => MARGIN + tap.dx));
  const values = new Float32Array(width);

  const isBackwards = (y: number): boolean =>
    (options.firstRow === 'leftwards') !== (options.serpentine && Math.abs(y) % 2 === 1);

  for (let y = 0; y < height; y++) {
    callRowHook(options.onRow, y);
    source.readRow(y, values);
    // Errors come from where the row that made them was heading, which with serpentine rows is not where this one heads.
    const offsets = errors.map((_, dy) => (isBackwards(y - dy) ? leftwards[dy] : rightwards[dy]));
    diffuseRow({ values, mask, at: y * width, backwards: isBackwards(y), errors, offsets, weights }, out);
    errors.unshift(errors.pop()!);
  }
  return out;
}

interface RowState {
  readonly values: Float32Array;
  readonly mask: Uint8Array | null;
  readonly at: number;
  readonly backwards: boolean;
  /** Of this row, the one before and the one before that. */
  readonly errors: readonly Float64Array[];
  readonly offsets: readonly Int32Array[];
  readonly weights: readonly Float64Array[];
}

const NO_ERRORS = new Float64Array(0);
const NO_OFFSETS = new Int32Array(0);

/** The rows of errors are named one by one for speed: this is the innermost loop of the slowest step before the burn. */
function diffuseRow(row: RowState, out: Uint8Array): void {
  const { values, mask, at, backwards } = row;
  const width = values.length;
  const [errors0, errors1 = NO_ERRORS, errors2 = NO_ERRORS] = row.errors;
  const [offsets0, offsets1 = NO_OFFSETS, offsets2 = NO_OFFSETS] = row.offsets;
  const [weights0, weights1, weights2] = row.weights;
  const step = backwards ? -1 : 1;
  for (let i = 0, x = backwards ? width - 1 : 0; i < width; i++, x += step) {
    if (mask !== null && mask[at + x] === 0) {
      out[at + x] = 0;
      errors0[x + MARGIN] = 0;
      continue;
    }
    let value = values[x];
    for (let k = 0; k < offsets2.length; k++) value += errors2[x + offsets2[k]] * weights2[k];
    for (let k = 0; k < offsets1.length; k++) value += errors1[x + offsets1[k]] * weights1[k];
    for (let k = 0; k < offsets0.length; k++) value += errors0[x + offsets0[k]] * weights0[k];
    const light = +(value >= 0.5);
    out[at + x] = 255 * light;
    errors0[x + MARGIN] = value - light;
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
