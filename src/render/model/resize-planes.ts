/** Weights of source cells for each place of an axis: `count` of them from `first` on, a fixed number of taps a place. */
interface Axis {
  readonly first: Int32Array;
  readonly weights: Float32Array;
  readonly taps: number;
}

/**
 * Tent filter as wide as the coarser of the two grids: averages where the target is coarser, interpolates where it is finer.
 * Places in cells of the source: target cell i lies at `(i + 0.5) · step + offset`.
 */
function axis(places: number, step: number, offset: number): Axis {
  const reach = Math.max(1, step);
  const taps = Math.ceil(2 * reach) + 1;
  const first = new Int32Array(places);
  const weights = new Float32Array(places * taps);
  for (let i = 0; i < places; i++) {
    const centre = (i + 0.5) * step + offset - 0.5;
    const from = Math.ceil(centre - reach);
    first[i] = from;
    let sum = 0;
    for (let k = 0; k < taps; k++) {
      const weight = Math.max(0, 1 - Math.abs(from + k - centre) / reach);
      weights[i * taps + k] = weight;
      sum += weight;
    }
    for (let k = 0; k < taps; k++) weights[i * taps + k] /= sum;
  }
  return { first, weights, taps };
}

export interface PlaneGrid {
  readonly width: number;
  readonly height: number;
}

export interface Placement {
  /** Source cells per target cell. */
  readonly step: number;
  /** Source place of the target's left top corner, in cells. */
  readonly left: number;
  readonly top: number;
}

/**
 * Resamples interleaved values that are made row by row, so that a large source need never be there at once.
 * `row(y, out)` writes a source row of `width · channels` values; yields each target row, in a buffer that is used again.
 */
export function* resizeRows(
  source: PlaneGrid,
  target: PlaneGrid,
  channels: number,
  { step, left, top }: Placement,
  row: (y: number, out: Float32Array) => void,
): Generator<Float32Array, void> {
  const across = axis(target.width, step, left);
  const down = axis(target.height, step, top);
  const made = new Map<number, Float32Array>();
  const spare: Float32Array[] = [];
  const line = new Float32Array(source.width * channels);
  const clampTo = (value: number, cells: number) => Math.min(cells - 1, Math.max(0, value));
  /** A source row squeezed to the target's width. */
  const narrow = (y: number): Float32Array => {
    const known = made.get(y);
    if (known) return known;
    row(y, line);
    const out = spare.pop() ?? new Float32Array(target.width * channels);
    out.fill(0);
    for (let x = 0; x < target.width; x++) {
      for (let k = 0; k < across.taps; k++) {
        const weight = across.weights[x * across.taps + k];
        if (weight === 0) continue;
        const at = clampTo(across.first[x] + k, source.width) * channels;
        for (let c = 0; c < channels; c++) out[x * channels + c] += weight * line[at + c];
      }
    }
    made.set(y, out);
    return out;
  };
  const values = new Float32Array(target.width * channels);
  for (let y = 0; y < target.height; y++) {
    values.fill(0);
    const from = down.first[y];
    for (const [key, rows] of made) {
      if (key >= clampTo(from, source.height)) continue;
      made.delete(key);
      spare.push(rows);
    }
    for (let k = 0; k < down.taps; k++) {
      const weight = down.weights[y * down.taps + k];
      if (weight === 0) continue;
      const squeezed = narrow(clampTo(from + k, source.height));
      for (let i = 0; i < values.length; i++) values[i] += weight * squeezed[i];
    }
    yield values;
  }
}
