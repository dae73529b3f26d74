import type { ScreenMethod } from '../../piece/schema.ts';
import { lightnessToLuminance, luminanceToLightness } from '../lightness.ts';
import type { ToneImage } from '../picture.ts';
import { createBayerMatrix } from './bayer.ts';
import { createClusteredDotMatrix } from './clustered-dot.ts';
import { DIFFUSE_DEFAULTS, diffuseRows, type RowSource } from './diffuse.ts';
import { DIFFUSION_KERNELS, type DiffusionMethod } from './diffusion-kernels.ts';
import { callRowHook, type RowHook } from './row-hook.ts';
import { type ThresholdMatrix, thresholdRows } from './threshold-matrix.ts';
import { createBlueNoiseMatrix } from './void-and-cluster.ts';

export interface ScreenOptions {
  /** Every other row is screened backwards; only error diffusion heeds it. */
  readonly serpentine: boolean;
  readonly onRow?: RowHook;
}

export const SCREEN_DEFAULTS: ScreenOptions = { serpentine: true };

/**
 * The burn share at the light end for each dot: 255 light-end power, 0 dark-end power. Screens of dots average in linear light, so
 * lightness becomes luminance first; continuous tone is round(255 × lightness). Where the mask is 0 the share is 0 and, for error
 * diffusion, there is no dot; where it is between, the picture fades to the dark end. Not-a-number counts as 0.
 * @param out as many bytes as there are dots, overwritten; made if not given.
 * @throws RangeError if an array has another length than width × height; Cancelled.
 */
export function screenTone(
  image: ToneImage,
  method: ScreenMethod,
  options: Partial<ScreenOptions> = {},
  out: Uint8Array = new Uint8Array(image.width * image.height),
): Uint8Array {
  const { width, height, lightness, mask } = image;
  if ([lightness, mask, out].some((array) => array.length !== width * height)) {
    throw new RangeError(`a tone image of ${width} × ${height} dots needs as many values in each array`);
  }
  const { serpentine, onRow } = { ...SCREEN_DEFAULTS, ...options };
  const source: RowSource = { width, height, mask, readRow: (y, row) => readLuminance(image, y, row) };
  if (method === 'continuous') return gradeRows(source, onRow, out);
  if (isDiffusion(method))
    return diffuseRows(source, DIFFUSION_KERNELS[method], { ...DIFFUSE_DEFAULTS, serpentine, onRow }, out);
  return thresholdRows(source, thresholdMatrix(method), onRow, out);
}

const isDiffusion = (method: ScreenMethod): method is DiffusionMethod => method in DIFFUSION_KERNELS;

type OrderedMethod = Exclude<ScreenMethod, DiffusionMethod | 'continuous'>;

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
export function thresholdMatrix(method: OrderedMethod): ThresholdMatrix {
  const matrix = made.get(method) ?? MATRICES[method]();
  made.set(method, matrix);
  return matrix;
}

function readLuminance({ width, lightness, mask }: ToneImage, y: number, row: Float32Array): void {
  for (let x = 0, i = y * width; x < width; x++, i++) row[x] = (lightnessToLuminance(lightness[i]) * mask[i]) / 255;
}

function gradeRows(source: RowSource, onRow: RowHook | undefined, out: Uint8Array): Uint8Array {
  const row = new Float32Array(source.width);
  for (let y = 0, i = 0; y < source.height; y++) {
    callRowHook(onRow, y);
    source.readRow(y, row);
    for (let x = 0; x < source.width; x++, i++) out[i] = Math.round(255 * luminanceToLightness(row[x]));
  }
  return out;
}
