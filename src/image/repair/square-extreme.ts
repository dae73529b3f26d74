import { askAtBand, type ShouldStop } from './stop.ts';

/**
 * Greatest (or least) value over squares of (2 · radius + 1)² dots, of those that lie inside: dilation (or erosion) by a square.
 * Windows double until two of them, overlapping, are as wide as the square, so the cost grows with the radius's logarithm only.
 * Source: the decomposition of flat squares into lines (textbook morphology). Test: against a search of every
 * square (test/unit/repair-defects.test.ts).
 * @param radius dots, whole, ≥ 0. @returns a new plane; not-a-number spreads. @throws Cancelled.
 */
export function squareExtreme<Plane extends Float32Array | Uint8Array>(
  plane: Plane,
  width: number,
  height: number,
  radius: number,
  which: 'greatest' | 'least',
  shouldStop?: ShouldStop,
): Plane {
  const out = plane.slice() as Plane;
  if (radius < 1 || plane.length === 0) return out;
  const span = 2 * radius + 1;
  // Negated for the least. Beyond the edges lies nothing.
  const sign = which === 'greatest' ? 1 : -1;
  const row = new Float32Array(width + 2 * radius);
  const columns = new Float32Array((height + 2 * radius) * width).fill(Number.NEGATIVE_INFINITY);
  for (let y = 0; y < height; y++) {
    askAtBand(shouldStop, y);
    row.fill(Number.NEGATIVE_INFINITY);
    for (let x = 0, i = y * width; x < width; x++, i++) row[radius + x] = sign * plane[i];
    slide(row, span, 1);
    columns.set(row.subarray(0, width), (y + radius) * width);
  }
  slide(columns, span, width, shouldStop);
  for (let i = 0; i < out.length; i++) out[i] = sign * columns[i];
  return out;
}

/** Each value becomes the greatest of itself and the `span` − 1 that follow it `step` apart; those near the end see fewer. */
function slide(values: Float32Array, span: number, step: number, shouldStop?: ShouldStop): void {
  let reach = 1;
  while (reach < span) {
    askAtBand(shouldStop, 0);
    const further = Math.min(reach, span - reach);
    const shift = further * step;
    for (let i = 0, end = values.length - shift; i < end; i++) values[i] = Math.max(values[i], values[i + shift]);
    reach += further;
  }
}
