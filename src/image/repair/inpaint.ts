/** Largest change of a round, lightness, below which a patch counts as filled. */
const SETTLED = 2e-6;

const MOST_ROUNDS = 5000;

/**
 * Fills the marked places of a picture from what lies around them: harmonically, ∇²u = 0 inside, u as it is outside, so a filled
 * place has no hills or dips of its own and slopes go straight through. Good for thin defects; a wide hole becomes a smooth blur, and
 * grain is not put back. What lies beyond the picture's edge does not count. Patch by patch, by successive over-relaxation from
 * the ring inwards.
 * Source: D. M. Young, "Iterative methods for solving partial difference equations of elliptic type", Trans. AMS 76, 1954; the equation
 * for pictures: P. Pérez, M. Gangnet, A. Blake, "Poisson image editing", SIGGRAPH 2003, eq. 2.
 * Test: planted harmonic tones come back; scikit-image's inpaint_biharmonic (test/reference/repair.test.ts).
 * @param plane lightness, row-major. Not-a-number outside the marked places spreads into them.
 * @param marked fills where it is not 0. If nothing is left around a patch (all is marked), it stays as it is.
 * @returns a new plane, the same outside the marks.
 * @throws RangeError if the arrays differ in length.
 */
export function inpaint(plane: Float32Array, width: number, height: number, marked: Uint8Array): Float32Array {
  if (plane.length !== width * height || marked.length !== plane.length) {
    throw new RangeError(`filling ${width} × ${height} dots needs as many values and marks`);
  }
  const out = plane.slice();
  const known = new Uint8Array(marked.length);
  for (let i = 0; i < marked.length; i++) if (marked[i] === 0) known[i] = 1;
  for (const patch of findPatches(marked, width, height)) {
    const rings = fillRings(out, patch, known, width, height);
    if (rings > 0) relax(out, patch, width, height, rings);
  }
  return out;
}

/** First guess: ring by ring the mean of the neighbours that are known. @returns how many rings; 0 if nothing is known around. */
function fillRings(out: Float32Array, patch: Int32Array, known: Uint8Array, width: number, height: number): number {
  let left = [...patch];
  let rings = 0;
  while (left.length > 0) {
    const ring: [number, number][] = [];
    const rest: number[] = [];
    for (const i of left) {
      const x = i % width;
      const y = (i - x) / width;
      let sum = 0;
      let count = 0;
      for (const [near, inside] of neighbours(i, x, y, width, height)) {
        if (!inside || known[near] === 0) continue;
        sum += out[near];
        count++;
      }
      if (count > 0) ring.push([i, sum / count]);
      else rest.push(i);
    }
    if (ring.length === 0) break;
    for (const [i, value] of ring) {
      out[i] = value;
      known[i] = 1;
    }
    left = rest;
    rings++;
  }
  return rings;
}

const neighbours = (i: number, x: number, y: number, width: number, height: number): [number, boolean][] => [
  [i - 1, x > 0],
  [i + 1, x < width - 1],
  [i - width, y > 0],
  [i + width, y < height - 1],
];

/** Young's best factor for a square as wide as the patch is thick. */
const overRelaxation = (rings: number): number => 2 / (1 + Math.sin(Math.PI / (2 * rings + 1)));

function relax(out: Float32Array, patch: Int32Array, width: number, height: number, rings: number): void {
  const factor = overRelaxation(rings);
  // In float64: near the end changes are smaller than float32 tells apart.
  const value = Float64Array.from(patch, (i) => out[i]);
  const place = new Map<number, number>();
  patch.forEach((i, k) => {
    place.set(i, k);
  });
  // Up to four neighbours of each dot: ≥ 0 one of the patch, else −1 − index of a dot outside.
  const near = new Int32Array(4 * patch.length);
  const count = new Uint8Array(patch.length);
  patch.forEach((i, k) => {
    const x = i % width;
    for (const [at, inside] of neighbours(i, x, (i - x) / width, width, height)) {
      if (inside) near[4 * k + count[k]++] = place.get(at) ?? -1 - at;
    }
  });
  for (let round = 0; round < MOST_ROUNDS; round++) {
    let largest = 0;
    for (let k = 0; k < patch.length; k++) {
      let sum = 0;
      for (let n = 4 * k, end = n + count[k]; n < end; n++) sum += near[n] >= 0 ? value[near[n]] : out[-1 - near[n]];
      const change = factor * (sum / count[k] - value[k]);
      value[k] += change;
      const size = Math.abs(change);
      if (size > largest) largest = size;
    }
    if (!(largest > SETTLED)) break;
  }
  patch.forEach((i, k) => {
    out[i] = value[k];
  });
}

/**
 * The patches of a mask: places that are not 0 and touch each other, sideways or by a corner.
 * @returns for each patch the indices of its dots, in the order in which a search from its first dot meets them.
 */
export function findPatches(mask: Uint8Array, width: number, height: number): Int32Array[] {
  const seen = new Uint8Array(mask.length);
  const patches: Int32Array[] = [];
  let marked = 0;
  for (let i = 0; i < mask.length; i++) if (mask[i] > 0) marked++;
  const queue = new Int32Array(marked);
  for (let start = 0; start < mask.length; start++) {
    if (mask[start] === 0 || seen[start] === 1) continue;
    let head = 0;
    let tail = 0;
    queue[tail++] = start;
    seen[start] = 1;
    while (head < tail) {
      const at = queue[head++];
      const x = at % width;
      const y = (at - x) / width;
      for (let v = Math.max(0, y - 1); v <= Math.min(height - 1, y + 1); v++) {
        for (let u = Math.max(0, x - 1); u <= Math.min(width - 1, x + 1); u++) {
          const next = v * width + u;
          if (mask[next] === 0 || seen[next] === 1) continue;
          seen[next] = 1;
          queue[tail++] = next;
        }
      }
    }
    patches.push(queue.slice(0, tail));
  }
  return patches;
}
