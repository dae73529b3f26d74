import type { ScreenedPass } from '../raster/pass-raster.ts';

/** Dots of each level that a pass burns in each row and bin: `[row · bins + bin]`. */
interface Counted {
  readonly dotsPerBin: number;
  readonly light: Uint16Array;
  readonly dark: Uint16Array;
}

/**
 * A change of power counts the same dots again: by levels and mask, for passes over parts of one picture share their levels. Null where
 * tone is graded: there is more to tell than two levels.
 */
const counted = new WeakMap<Uint8Array, WeakMap<Uint8Array, Counted | null>>();

/** Power that each row gets in each bin, watts times dots: `[row · bins + bin]`. */
export function rowPower(
  { levels, mask, raster }: ScreenedPass,
  wattsAt: Float64Array,
  dotsPerBin: number,
  bins: number,
): Float32Array {
  const { columns, rows } = raster;
  const power = new Float32Array(rows * bins);
  const byMask = counted.get(levels) ?? new WeakMap<Uint8Array, Counted | null>();
  counted.set(levels, byMask);
  let counts = byMask.get(mask);
  if (counts === undefined || (counts && counts.dotsPerBin !== dotsPerBin)) {
    counts = countDots(levels, mask, columns, rows, dotsPerBin, bins);
    byMask.set(mask, counts);
  }
  if (counts) {
    const { light, dark } = counts;
    for (let i = 0; i < power.length; i++) power[i] = light[i] * wattsAt[255] + dark[i] * wattsAt[0];
    return power;
  }
  for (let r = 0; r < rows; r++) {
    for (let c = 0; c < columns; c++) {
      const at = r * columns + c;
      if (mask[at] > 0) power[r * bins + Math.min(bins - 1, Math.floor(c / dotsPerBin))] += wattsAt[levels[at]];
    }
  }
  return power;
}

function countDots(
  levels: Uint8Array,
  mask: Uint8Array,
  columns: number,
  rows: number,
  dotsPerBin: number,
  bins: number,
): Counted | null {
  const light = new Uint16Array(rows * bins);
  const dark = new Uint16Array(rows * bins);
  for (let r = 0; r < rows; r++) {
    for (let bin = 0; bin < bins; bin++) {
      const to = r * columns + Math.min(columns, Math.ceil((bin + 1) * dotsPerBin));
      for (let at = r * columns + Math.ceil(bin * dotsPerBin); at < to; at++) {
        if (mask[at] === 0) continue;
        if (levels[at] === 255) light[r * bins + bin]++;
        else if (levels[at] === 0) dark[r * bins + bin]++;
        else return null;
      }
    }
  }
  return { dotsPerBin, light, dark };
}
