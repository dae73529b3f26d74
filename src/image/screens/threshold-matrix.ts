import type { RowSource } from './diffuse.ts';
import { callRowHook, type RowHook } from './row-hook.ts';

/** A square of ranks that tiles the picture: the dot with rank 0 turns light first, that with the highest rank last. */
export interface ThresholdMatrix {
  readonly size: number;
  /** Every whole number from 0 to size² − 1 once, row-major. */
  readonly ranks: Uint16Array;
}

/**
 * Ordered screening: a dot becomes 255 where its value is at least (rank + 0.5) / size², else 0; with a flat value v,
 * round(v · size²) dots of each tile are light. Where the mask is 0 the dot stays 0.
 * @throws Cancelled if the hook asks for it.
 */
export function thresholdRows(
  source: RowSource,
  matrix: ThresholdMatrix,
  onRow?: RowHook,
  out: Uint8Array = new Uint8Array(source.width * source.height),
): Uint8Array {
  const { width, height, mask } = source;
  const { size, ranks } = matrix;
  const thresholds = Float64Array.from(ranks, (rank) => (rank + 0.5) / (size * size));
  const values = new Float32Array(width);
  for (let y = 0; y < height; y++) {
    callRowHook(onRow, y);
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
