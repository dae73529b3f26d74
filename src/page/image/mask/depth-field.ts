/**
 * How deep each dot of a region lies in it: distance from its middle to the region's edge, dots; 0 outside. The picture's own border is
 * no edge. A region without any edge is as deep everywhere as the picture is long.
 * Source: P. F. Felzenszwalb, D. P. Huttenlocher, "Distance Transforms of Sampled Functions", Theory of Computing 8, 2012.
 * Test: against a search (test/unit/mask-dialog-region.test.ts).
 * @param region 1 inside, 0 outside, row-major.
 */
export function depthField(region: Uint8Array, width: number, height: number): Float32Array {
  const longest = Math.hypot(width, height);
  // Squares; more than any that can come, but finite, so that differences stay numbers.
  const far = longest * longest;
  const square = Float64Array.from(region, (inside) => (inside ? far : 0));
  const line = new Float64Array(Math.max(width, height));
  const pass = (start: number, step: number, count: number) => {
    for (let i = 0; i < count; i++) line[i] = square[start + i * step];
    lowerEnvelope(line, count, (i, value) => {
      square[start + i * step] = value;
    });
  };
  for (let x = 0; x < width; x++) pass(x, width, height);
  for (let y = 0; y < height; y++) pass(y * width, 1, width);
  // The edge runs half a dot before the middle of the nearest dot outside.
  return Float32Array.from(square, (value) => (value === 0 ? 0 : Math.min(longest, Math.sqrt(value)) - 0.5));
}

/** Least (i − j)² + line[j] over all j, for each i. */
function lowerEnvelope(line: Float64Array, count: number, put: (i: number, value: number) => void): void {
  const roots = new Int32Array(count);
  const ends = new Float64Array(count + 1);
  let last = 0;
  ends[0] = Number.NEGATIVE_INFINITY;
  ends[1] = Number.POSITIVE_INFINITY;
  const meet = (q: number, r: number) => (line[q] + q * q - line[r] - r * r) / (2 * (q - r));
  for (let q = 1; q < count; q++) {
    let at = meet(q, roots[last]);
    while (at <= ends[last]) at = meet(q, roots[--last]);
    roots[++last] = q;
    ends[last] = at;
    ends[last + 1] = Number.POSITIVE_INFINITY;
  }
  for (let i = 0, k = 0; i < count; i++) {
    while (ends[k + 1] < i) k++;
    put(i, (i - roots[k]) ** 2 + line[roots[k]]);
  }
}
