import { blurGaussian } from '../gaussian-blur.ts';

interface ClaheOptions {
  /** Share of the result against the picture as it was, 0–1. */
  readonly amount: number;
  /** Tiles along the longer side, whole, ≥ 1; the shorter gets as many as keep them about square. */
  readonly tiles: number;
  /**
   * Clip limit as the steepest slope that the tone curve of a tile may have, ≥ 1: no bin of its histogram counts for more than this
   * many times the mean bin. 1 leaves the picture as it is.
   */
  readonly slopeLimit: number;
  /** Bins of a tile's histogram, whole, ≥ 2. */
  readonly bins: number;
}

const CLAHE_DEFAULTS: ClaheOptions = { amount: 1, tiles: 8, slopeLimit: 2.5, bins: 256 };

/**
 * Local contrast: contrast-limited adaptive histogram equalisation. Every tile's clipped histogram, summed up, is a tone curve;
 * each dot takes the mean of the curves of the four nearest tiles, bilinearly from middle to middle. What the clipping takes off
 * the tall bins is shared out evenly among the others, none above the limit. Inside a bin the curve is straight, so
 * nothing is posterised.
 * Source: K. Zuiderveld, "Contrast limited adaptive histogram equalization", Graphics Gems IV, 1994.
 * Test: scikit-image's equalize_adapthist (test/reference/repair.test.ts); its `clip_limit` is `slopeLimit / nbins`.
 * @param plane lightness 0–1, row-major; values beyond are taken as 0 or 1, not-a-number as 0.
 * @param mask dots with 0 do not count in the histograms; a tile without any other keeps its tones.
 * @returns a new plane.
 * @throws RangeError if an option lies outside its range.
 */
export function equalizeLocally(
  plane: Float32Array,
  width: number,
  height: number,
  options: Partial<ClaheOptions> = {},
  mask: Uint8Array | null = null,
): Float32Array {
  const { amount, tiles, slopeLimit, bins } = { ...CLAHE_DEFAULTS, ...options };
  if (!(Number.isInteger(tiles) && tiles >= 1 && Number.isInteger(bins) && bins >= 2 && slopeLimit >= 1)) {
    throw new RangeError(`local contrast cannot use ${tiles} tiles, ${bins} bins and a slope limit of ${slopeLimit}`);
  }
  if (!(amount > 0) || plane.length === 0) return plane.slice();
  const longest = Math.max(width, height);
  const across = Math.max(1, Math.min(width, Math.round((tiles * width) / longest)));
  const down = Math.max(1, Math.min(height, Math.round((tiles * height) / longest)));
  const entries = bins + 1;
  const curves = new Float32Array(across * down * entries);
  for (let row = 0; row < down; row++) {
    for (let column = 0; column < across; column++) {
      const counts = new Float64Array(bins);
      const [x0, x1] = [Math.round((column * width) / across), Math.round(((column + 1) * width) / across)];
      const [y0, y1] = [Math.round((row * height) / down), Math.round(((row + 1) * height) / down)];
      for (let y = y0; y < y1; y++) {
        for (let i = y * width + x0, end = y * width + x1; i < end; i++) {
          if (mask === null || mask[i] > 0) counts[binOf(plane[i], bins)]++;
        }
      }
      const at = (row * across + column) * entries;
      writeCurve(counts, slopeLimit, curves.subarray(at, at + entries));
    }
  }

  const out = new Float32Array(plane.length);
  const [columnAt, columnShare] = tileWeights(width, across);
  const [rowAt, rowShare] = tileWeights(height, down);
  const blended = new Float32Array(across * entries);
  for (let y = 0; y < height; y++) {
    const above = rowAt[y] * across * entries;
    const below = Math.min(down - 1, rowAt[y] + 1) * across * entries;
    for (let k = 0; k < blended.length; k++) {
      blended[k] = curves[above + k] + rowShare[y] * (curves[below + k] - curves[above + k]);
    }
    for (let x = 0, i = y * width; x < width; x++, i++) {
      const value = plane[i] > 0 ? Math.min(1, plane[i]) : 0;
      const place = value * bins;
      const bin = place < bins ? place | 0 : bins - 1;
      const inBin = place - bin;
      const a = columnAt[x] * entries + bin;
      const b = columnAt[x] + 1 < across ? a + entries : a;
      const left = blended[a] + inBin * (blended[a + 1] - blended[a]);
      const right = blended[b] + inBin * (blended[b + 1] - blended[b]);
      out[i] = value + amount * (left + columnShare[x] * (right - left) - value);
    }
  }
  return out;
}

const binOf = (value: number, bins: number): number => (value > 0 ? (value < 1 ? (value * bins) | 0 : bins - 1) : 0);

/** For each dot of a line the tile whose middle lies before it, and its share of the way to the next middle. */
function tileWeights(count: number, tiles: number): [Int32Array, Float32Array] {
  const at = new Int32Array(count);
  const share = new Float32Array(count);
  for (let i = 0; i < count; i++) {
    const place = Math.min(tiles - 1, Math.max(0, ((i + 0.5) * tiles) / count - 0.5));
    at[i] = Math.floor(place);
    share[i] = place - at[i];
  }
  return [at, share];
}

/** The curve 0–1 at the edges of the bins, from the histogram, which it changes. */
function writeCurve(counts: Float64Array, slopeLimit: number, curve: Float32Array): void {
  const bins = counts.length;
  const total = counts.reduce((sum, count) => sum + count, 0);
  if (total === 0) {
    for (let k = 0; k <= bins; k++) curve[k] = k / bins;
    return;
  }
  const limit = (slopeLimit * total) / bins;
  let excess = 0;
  for (let k = 0; k < bins; k++) {
    if (counts[k] > limit) {
      excess += counts[k] - limit;
      counts[k] = limit;
    }
  }
  // Each round fills at least one bin or gives all away.
  while (excess > 1e-9 * total) {
    let open = 0;
    for (let k = 0; k < bins; k++) if (counts[k] < limit) open++;
    if (open === 0) break;
    const share = excess / open;
    excess = 0;
    for (let k = 0; k < bins; k++) {
      if (counts[k] >= limit) continue;
      counts[k] += share;
      if (counts[k] > limit) {
        excess += counts[k] - limit;
        counts[k] = limit;
      }
    }
  }
  let sum = 0;
  for (let k = 0; k < bins; k++) {
    sum += counts[k];
    curve[k + 1] = sum / total;
  }
}

interface DetailLost {
  /** Share of the picture's fine contrast that the beam blurs away, 0–1; 0 for a picture without any. */
  readonly share: number;
  /** Lightness that each dot loses, 0–1: where to look. */
  readonly lost: Float32Array;
}

/** Fine is what a Gaussian blur of so many rows takes away: sines of fewer than about eight rows. */
const FINE_ROWS = 2;

/**
 * What of the picture is finer than the beam. The fine part F is the picture less itself blurred over two rows; the beam blurs F
 * with σ = w / 2 to B; lost is |F − B|, and the share 1 − Σ F B / Σ F², the mean of 1 − MTF(f) over the fine part's spectrum: of a
 * single sine just 1 − MTF (`spotTransfer`). On lightness, as if the coat answered it evenly.
 * Source: Parseval's theorem on the beam's transfer function. Test: test/unit/repair-spot.test.ts.
 * @param plane lightness 0–1 at the row pitch, row-major. @param spotRadiusMm 1/e² radius, ≥ 0. @param pitchMm > 0.
 * @throws RangeError if the pitch is not positive or the radius negative.
 */
export function detailLost(
  plane: Float32Array,
  width: number,
  height: number,
  spotRadiusMm: number,
  pitchMm: number,
): DetailLost {
  if (!(spotRadiusMm >= 0 && pitchMm > 0)) {
    throw new RangeError(`detail needs a spot radius and a pitch, got ${spotRadiusMm} and ${pitchMm} mm`);
  }
  const fine = blurGaussian(plane, width, height, FINE_ROWS);
  for (let i = 0; i < fine.length; i++) fine[i] = plane[i] - fine[i];
  const lost = blurGaussian(fine, width, height, spotRadiusMm / 2 / pitchMm);
  let kept = 0;
  let all = 0;
  for (let i = 0; i < fine.length; i++) {
    kept += fine[i] * lost[i];
    all += fine[i] * fine[i];
    lost[i] = Math.abs(fine[i] - lost[i]);
  }
  // Rounding alone leaves contrasts of 1e-7 a dot.
  return { share: all > 1e-12 * fine.length ? Math.min(1, Math.max(0, 1 - kept / all)) : 0, lost };
}
