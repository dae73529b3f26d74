import { askAtBand, type ShouldStop } from './stop.ts';

/** Steps in which values are told apart: sixteen for each code of an 8-bit photo, which is therefore kept exactly. */
const CODES = 4080;

/**
 * Median over squares of (2 · radius + 1)² dots, for dust and salt-and-pepper noise; what lies beyond an edge is the edge's dot
 * repeated. Keeps a histogram that slides along the row, so a dot costs in proportion to the radius only.
 * Source: T. S. Huang, G. J. Yang, G. Y. Tang, "A fast two-dimensional median filtering algorithm", IEEE Trans. ASSP 27(1), 1979,
 * with a coarse and a fine histogram; squares of 3 × 3 by ordered columns. Test: SciPy's median_filter (test/reference/repair.test.ts).
 * @param plane lightness 0–1, row-major; values beyond are taken as 0 or 1, not-a-number as 0. Rounded to 1/4080.
 * @param radius dots, whole, 1–50: 1 is 3 × 3, 2 is 5 × 5.
 * @returns a new plane.
 * @throws RangeError for another radius; Cancelled.
 */
export function medianFilter(
  plane: Float32Array,
  width: number,
  height: number,
  radius: number,
  shouldStop?: ShouldStop,
): Float32Array {
  if (!(Number.isInteger(radius) && radius >= 1 && radius <= 50)) {
    throw new RangeError(`a median needs a radius of 1 to 50 dots, got ${radius}`);
  }
  const padded = width + 2 * radius;
  const span = 2 * radius + 1;
  // Rows of codes with their edges repeated, a ring of as many as the square is high.
  const ring = new Uint16Array(span * padded);
  const fine = new Uint16Array(CODES + 64);
  const coarse = new Uint16Array(64);
  const out = new Float32Array(plane.length);
  const half = (span * span - 1) / 2;
  const fill = (y: number) =>
    encodeRow(plane, width, Math.min(height - 1, Math.max(0, y)), radius, ring, slot(y) * padded);
  const slot = (y: number) => ((y % span) + span) % span;
  if (plane.length === 0) return out;
  for (let y = -radius; y < radius; y++) fill(y);

  for (let y = 0; y < height; y++) {
    askAtBand(shouldStop, y);
    fill(y + radius);
    if (radius === 1) {
      medianRow3(ring, padded, out, y * width);
      continue;
    }
    fine.fill(0);
    coarse.fill(0);
    for (let row = 0; row < span; row++) {
      for (let x = 0; x < span - 1; x++) {
        const code = ring[row * padded + x];
        fine[code]++;
        coarse[code >> 6]++;
      }
    }
    // `below` counts what lies in coarse bins before `digit`.
    let digit = 0;
    let below = 0;
    for (let x = 0; x < width; x++) {
      for (let row = 0, at = x + span - 1; row < span; row++, at += padded) {
        const code = ring[at];
        fine[code]++;
        coarse[code >> 6]++;
        if (code >> 6 < digit) below++;
      }
      while (below > half) below -= coarse[--digit];
      while (below + coarse[digit] <= half) below += coarse[digit++];
      let code = digit << 6;
      let before = below + fine[code];
      while (before <= half) before += fine[++code];
      out[y * width + x] = code / CODES;
      for (let row = 0, at = x; row < span; row++, at += padded) {
        const gone = ring[at];
        fine[gone]--;
        coarse[gone >> 6]--;
        if (gone >> 6 < digit) below--;
      }
    }
  }
  return out;
}

/** Of nine: each column of three is put in order; the median is that of the greatest low, the middle middle and the least high. */
function medianRow3(ring: Uint16Array, padded: number, out: Float32Array, at: number): void {
  const low = new Uint16Array(padded);
  const middle = new Uint16Array(padded);
  const high = new Uint16Array(padded);
  for (let x = 0; x < padded; x++) {
    const [a, b, c] = [ring[x], ring[padded + x], ring[2 * padded + x]];
    const least = Math.min(a, b);
    const most = Math.max(a, b);
    low[x] = Math.min(least, c);
    high[x] = Math.max(most, c);
    middle[x] = Math.max(least, Math.min(most, c));
  }
  for (let x = 0; x < padded - 2; x++) {
    const a = Math.max(low[x], low[x + 1], low[x + 2]);
    const b = middleOf(middle[x], middle[x + 1], middle[x + 2]);
    const c = Math.min(high[x], high[x + 1], high[x + 2]);
    out[at + x] = middleOf(a, b, c) / CODES;
  }
}

const middleOf = (a: number, b: number, c: number): number => Math.max(Math.min(a, b), Math.min(Math.max(a, b), c));

function encodeRow(plane: Float32Array, width: number, y: number, radius: number, ring: Uint16Array, at: number): void {
  for (let x = 0; x < width; x++) {
    const value = plane[y * width + x];
    ring[at + radius + x] = value > 0 ? (value < 1 ? value * CODES + 0.5 : CODES) : 0;
  }
  ring.fill(ring[at + radius], at, at + radius);
  ring.fill(ring[at + radius + width - 1], at + radius + width, at + 2 * radius + width);
}
