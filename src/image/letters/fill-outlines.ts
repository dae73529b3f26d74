/** Lines per dot across which coverage is summed; along a line it is exact. */
const LINES = 8;

/**
 * Adds to each dot the share of it that closed outlines cover, 0–1, by the non-zero winding rule. Along rows coverage is exact, across them
 * it is the mean of eight lines.
 * Source: scan conversion with winding numbers (textbook). Test: test/unit/lettering.test.ts.
 * @param outlines x and y in turn, in dots from the left top corner; the middle of dot (i, j) is (i + 0.5, j + 0.5).
 * @param cover row-major; what is there stays where it is more.
 */
export function fillOutlines(
  outlines: readonly ArrayLike<number>[],
  width: number,
  height: number,
  cover: Float32Array,
): void {
  /** Crossings of each line: x, and 1 upwards or −1 downwards, in turn. */
  const lines = new Map<number, number[]>();
  for (const outline of outlines) {
    const n = outline.length;
    for (let k = 0; k < n; k += 2) {
      const [x0, y0] = [outline[k], outline[k + 1]];
      const [x1, y1] = [outline[(k + 2) % n], outline[(k + 3) % n]];
      if (y0 === y1) continue;
      const [low, high] = y0 < y1 ? [y0, y1] : [y1, y0];
      const from = Math.max(0, Math.ceil(low * LINES - 0.5));
      const to = Math.min(height * LINES - 1, Math.ceil(high * LINES - 0.5) - 1);
      for (let line = from; line <= to; line++) {
        const y = (line + 0.5) / LINES;
        const crossings = lines.get(line) ?? [];
        crossings.push(x0 + ((y - y0) / (y1 - y0)) * (x1 - x0), y0 < y1 ? -1 : 1);
        lines.set(line, crossings);
      }
    }
  }
  const row = new Float32Array(width);
  let current = -1;
  const flush = () => {
    if (current < 0) return;
    for (let x = 0; x < width; x++)
      cover[current * width + x] = Math.max(cover[current * width + x], Math.min(1, row[x]));
    row.fill(0);
  };
  for (const line of [...lines.keys()].sort((one, other) => one - other)) {
    const y = Math.floor(line / LINES);
    if (y !== current) flush();
    current = y;
    const crossings = lines.get(line) ?? [];
    const order = Array.from({ length: crossings.length / 2 }, (_, k) => 2 * k).sort(
      (p, q) => crossings[p] - crossings[q],
    );
    let winding = 0;
    for (let k = 0; k < order.length; k++) {
      winding += crossings[order[k] + 1];
      if (winding !== 0 && k + 1 < order.length) addSpan(row, width, crossings[order[k]], crossings[order[k + 1]]);
    }
  }
  flush();
}

/** Adds one line's worth of coverage between two places of a row. */
function addSpan(row: Float32Array, width: number, from: number, to: number): void {
  const left = Math.max(0, from);
  const right = Math.min(width, to);
  for (let x = Math.floor(left); x < right; x++) row[x] += (Math.min(right, x + 1) - Math.max(left, x)) / LINES;
}
