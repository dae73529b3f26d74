import type { ScreenMethod } from '../../piece/schema.ts';

/** Where a dot's error goes: `dx` dots further in the direction of travel, `dy` rows down, `weight / divisor` of it. */
export interface DiffusionTap {
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
 * P. Stucki, IBM Research Report RZ1060, 1981; the kernels of Burkes (1988) and Sierra (1989, 1990) were given to the public
 * domain and are tabulated with the others in the text file DHALF.TXT (1991); Atkinson's, of the 1980s, passes on 6/8 only.
 */
export const DIFFUSION_KERNELS = {
  'floyd-steinberg': kernel(16, [7], [3, 5, 1]),
  'jarvis-judice-ninke': kernel(48, [7, 5], [3, 5, 7, 5, 3], [1, 3, 5, 3, 1]),
  stucki: kernel(42, [8, 4], [2, 4, 8, 4, 2], [1, 2, 4, 2, 1]),
  burkes: kernel(32, [8, 4], [2, 4, 8, 4, 2]),
  'sierra-3': kernel(32, [5, 3], [2, 4, 5, 4, 2], [0, 2, 3, 2, 0]),
  'sierra-2': kernel(16, [4, 3], [1, 2, 3, 2, 1]),
  'sierra-2-4a': kernel(4, [2], [1, 1, 0]),
  atkinson: kernel(8, [1, 1], [1, 1, 1], [0, 1, 0]),
} as const satisfies Partial<Record<ScreenMethod, DiffusionKernel>>;

export type DiffusionMethod = keyof typeof DIFFUSION_KERNELS;
