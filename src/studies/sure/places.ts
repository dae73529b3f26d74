import { LIGHT_AREA_LIGHTNESS } from '../../burn/clearing.ts';
import type { ToneImage } from '../../image/picture.ts';

/** Prepared lightness up to which a part of the picture counts as dark: there a dark-over-light stack is meant to stay. */
export const DARK_AREA_LIGHTNESS = 0.1;

/** Squares of a sample that gives a verdict, all of `SAMPLE_DOTS` cells a side; a sample has as many as asked for whatever the picture, so that kernels have few sizes. */
export const SAMPLE_TILES = 240;
export const SAMPLE_DOTS = 10;
/** Shares of them that speak for the light areas and for the dark ones, where there are any; the others for all of the picture. */
const LIGHT_SHARE = 2 / 3;
const DARK_SHARE = 0.1;

export type Speaks = 'light' | 'dark' | 'all';

/** A square of cells of the picture. */
export interface SamplePlace {
  readonly firstX: number;
  readonly firstY: number;
  /** What it speaks for, and one over the cells of that kind in it. */
  readonly speaks: Speaks;
  readonly weight: number;
}

/**
 * Squares spread over the picture so that each kind of place is drawn in proportion to how much of it a square holds (systematic
 * sampling with probability proportional to size; sums are then means of shares: M. H. Hansen and W. N. Hurwitz, Ann. Math. Stat. 14,
 * 1943, value from memory). Fixed: the same picture always gives the same ones. `dots`: cells along a side, even, so that rows of all
 * squares run the same way.
 */
export function samplePlaces(
  { width, height, lightness, mask }: ToneImage,
  dots: number,
  count: number,
): SamplePlace[] {
  const across = Math.max(1, Math.floor(width / dots));
  const down = Math.max(1, Math.floor(height / dots));
  const light = new Float64Array(across * down);
  const dark = new Float64Array(across * down);
  const all = new Float64Array(across * down);
  for (let y = 0; y < Math.min(height, down * dots); y++) {
    const line = Math.floor(y / dots) * across;
    for (let x = 0; x < Math.min(width, across * dots); x++) {
      const at = y * width + x;
      if (mask[at] === 0) continue;
      const block = line + Math.floor(x / dots);
      all[block]++;
      if (lightness[at] >= LIGHT_AREA_LIGHTNESS) light[block]++;
      else if (lightness[at] <= DARK_AREA_LIGHTNESS) dark[block]++;
    }
  }
  const pick = (speaks: Speaks, sizes: Float64Array, wanted: number): SamplePlace[] =>
    systematic(sizes, across, wanted).map((block) => ({
      firstX: (block % across) * dots,
      firstY: Math.floor(block / across) * dots,
      speaks,
      weight: 1 / sizes[block],
    }));
  const lit = pick('light', light, Math.round(LIGHT_SHARE * count));
  const unlit = pick('dark', dark, Math.round(DARK_SHARE * count));
  return [...lit, ...unlit, ...pick('all', all, count - lit.length - unlit.length)];
}

/**
 * Blocks drawn in proportion to their sizes, at even steps along a curve that stays near itself (Z-order), so that no step of theirs falls
 * in with the rows of blocks; none if all are empty.
 */
function systematic(sizes: Float64Array, across: number, count: number): number[] {
  const total = sizes.reduce((sum, size) => sum + size, 0);
  if (total === 0) return [];
  const down = sizes.length / across;
  const side = 2 ** Math.ceil(Math.log2(Math.max(across, down)));
  const picked: number[] = [];
  let sum = 0;
  for (let code = 0; code < side * side && picked.length < count; code++) {
    const [x, y] = [evenBits(code), evenBits(code >>> 1)];
    if (x >= across || y >= down) continue;
    const block = y * across + x;
    sum += sizes[block];
    while (picked.length < count && ((picked.length + 0.5) * total) / count < sum) picked.push(block);
  }
  return picked;
}

/** Every second bit of a number, pushed together. */
function evenBits(code: number): number {
  let bits = 0;
  for (let i = 0; code >>> (2 * i) > 0; i++) bits |= ((code >>> (2 * i)) & 1) << i;
  return bits;
}
