import type { Place } from './finding.ts';
import type { Blocks } from './tally.ts';

/** Side of the area that is looked at, mm, at most a third of the picture. */
const LOOK_MM = 14;

/**
 * Where a picture has the most of something: the square of a coarse grid with the largest sum, and its neighbour if the trouble lies across
 * their border; never a lone cell. Null if there is nothing anywhere.
 */
export function worstPlace(blocks: Blocks, amount: (block: number) => number): Place | null {
  const { width, height, pitchMm } = blocks;
  const sizeMm = Math.max(2 * pitchMm, Math.min(LOOK_MM, (Math.min(width, height) * pitchMm) / 3));
  // Half squares: every place lies near the middle of one window of 2 × 2 of them.
  const step = Math.max(1, Math.round(sizeMm / 2 / pitchMm));
  const columns = Math.ceil(width / step);
  const rows = Math.ceil(height / step);
  const sums = new Float64Array(columns * rows);
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      sums[Math.floor(y / step) * columns + Math.floor(x / step)] += amount(y * width + x);
    }
  }
  let worst = 0;
  let place: Place | null = null;
  for (let r = 0; r < Math.max(1, rows - 1); r++) {
    for (let c = 0; c < Math.max(1, columns - 1); c++) {
      let sum = 0;
      let momentX = 0;
      let momentY = 0;
      for (let y = r; y < Math.min(rows, r + 2); y++) {
        for (let x = c; x < Math.min(columns, c + 2); x++) {
          const value = sums[y * columns + x];
          sum += value;
          momentX += value * (x + 0.5);
          momentY += value * (y + 0.5);
        }
      }
      if (sum <= worst) continue;
      worst = sum;
      const stepMm = step * pitchMm;
      place = {
        xMm: Math.min(width * pitchMm, (momentX / sum) * stepMm),
        yMm: Math.min(height * pitchMm, (momentY / sum) * stepMm),
        sizeMm,
      };
    }
  }
  return place;
}
