import { outOfCut } from '../../piece/frame.ts';
import type { PictureCut } from '../cut.ts';

/** What was found to stay of a whole photograph: 0 goes … 255 stays, row-major over all of it. */
export interface Matte {
  readonly columns: number;
  readonly rows: number;
  readonly values: Uint8Array;
}

/**
 * Lays a matte over the mask of what is used of a photograph, read linearly between its dots.
 * Test: test/unit/mask-matte.test.ts.
 * @param cut what is used; null for all. @returns a new mask.
 */
export function layMatte(
  mask: Uint8Array,
  width: number,
  height: number,
  { columns, rows, values }: Matte,
  cut: PictureCut | null,
): Uint8Array {
  const out = new Uint8Array(mask.length);
  const within = (value: number, most: number) => Math.min(most, Math.max(0, value));
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      const at = y * width + x;
      if (mask[at] === 0) continue;
      const [u, v] = cut
        ? outOfCut(cut, [(x + 0.5) / width, (y + 0.5) / width])
        : [(x + 0.5) / width, ((y + 0.5) / height) * (rows / columns)];
      const column = within(u * columns - 0.5, columns - 1);
      const row = within(v * columns - 0.5, rows - 1);
      const [c, r] = [Math.min(columns - 2, Math.floor(column)), Math.min(rows - 2, Math.floor(row))];
      const of = (dc: number, dr: number) => values[Math.max(0, r + dr) * columns + Math.max(0, c + dc)];
      const [p, q] = [column - Math.max(0, c), row - Math.max(0, r)];
      const above = of(0, 0) + (of(1, 0) - of(0, 0)) * p;
      const below = of(0, 1) + (of(1, 1) - of(0, 1)) * p;
      out[at] = Math.round((mask[at] * (above + (below - above) * q)) / 255);
    }
  }
  return out;
}
