import { hashToNormal } from '../../base/random/generator.ts';

/**
 * Uneven dry films: a mean thickness, a slow variation and a fine one, both smooth random fields of the place on the slab, so
 * that the same spot has the same film at any tiling and resolution. A stand-in for the physics of the application; its sizes
 * are estimates, calibrate.
 */
export interface FilmNoise {
  /** `mean`: none of the variation is shown. */
  readonly shown: 'mean' | 'drawn';
  readonly seed: number;
  readonly slowScaleMm: number;
  readonly fineScaleMm: number;
}

/**
 * Weights of a cubic B-spline at a fraction of a lattice step, scaled so that their squares sum to one: then a sum of them times unit
 * normals has unit variance everywhere.
 */
export function unitSpline(f: number): [number, number, number, number] {
  const g = 1 - f;
  const w0 = (g * g * g) / 6;
  const w3 = (f * f * f) / 6;
  const w1 = (4 - 6 * f * f + 3 * f * f * f) / 6;
  const w2 = 1 - w0 - w1 - w3;
  const norm = 1 / Math.sqrt(w0 * w0 + w1 * w1 + w2 * w2 + w3 * w3);
  return [w0 * norm, w1 * norm, w2 * norm, w3 * norm];
}

/** The weights along a row, tabulated: a step is off by less than a thousandth of the variation. */
const SPLINE_STEPS = 2048;
const SPLINE = Float64Array.from(
  { length: 4 * (SPLINE_STEPS + 1) },
  (_, i) => unitSpline((i >> 2) / SPLINE_STEPS)[i & 3],
);

/**
 * Adds a unit-variance smooth random row to `out`: cubic B-spline over a lattice of normal values, `scaleMm` apart along the row
 * and `scaleYMm` across. Cell i lies at `originXMm + (i + ½)·pitchMm`. `gain` scales it.
 */
export function addSmoothRow(
  out: Float32Array,
  seed: number,
  originXMm: number,
  yMm: number,
  pitchMm: number,
  scaleMm: number,
  gain: number,
  scaleYMm: number = scaleMm,
): void {
  const v = yMm / scaleYMm;
  const rowBase = Math.floor(v);
  const [a0, a1, a2, a3] = unitSpline(v - rowBase);
  const column = (ix: number): number =>
    a0 * hashToNormal(seed, ix, rowBase - 1) +
    a1 * hashToNormal(seed, ix, rowBase) +
    a2 * hashToNormal(seed, ix, rowBase + 1) +
    a3 * hashToNormal(seed, ix, rowBase + 2);
  let base = Number.NaN;
  let c0 = 0;
  let c1 = 0;
  let c2 = 0;
  let c3 = 0;
  for (let i = 0; i < out.length; i++) {
    const u = (originXMm + (i + 0.5) * pitchMm) / scaleMm;
    const at = Math.floor(u);
    if (at === base + 1) {
      c0 = c1;
      c1 = c2;
      c2 = c3;
      c3 = column(at + 2);
    } else if (at !== base) {
      c0 = column(at - 1);
      c1 = column(at);
      c2 = column(at + 1);
      c3 = column(at + 2);
    }
    base = at;
    const step = (((u - at) * SPLINE_STEPS + 0.5) | 0) * 4;
    out[i] += gain * (SPLINE[step] * c0 + SPLINE[step + 1] * c1 + SPLINE[step + 2] * c2 + SPLINE[step + 3] * c3);
  }
}

/** Share of the slow variation's variance in its second octave, half as wide. */
const SECOND_OCTAVE = 0.3;

/**
 * One row of dry thickness in µm, never below zero. `coat` keeps the coats' fields apart; variations are standard deviations over
 * the mean (0 gives an even film).
 */
export function filmRowUm(
  film: FilmNoise,
  coat: number,
  meanUm: number,
  slowVariation: number,
  fineVariation: number,
  originXMm: number,
  yMm: number,
  pitchMm: number,
  out: Float32Array,
): Float32Array {
  if (film.shown === 'mean') return out.fill(meanUm);
  out.fill(0);
  const seed = (film.seed + 7919 * coat) >>> 0;
  if (slowVariation > 0) {
    const add = (octave: number, scaleMm: number, share: number) =>
      addSmoothRow(out, seed ^ (octave * 0x9e37), originXMm, yMm, pitchMm, scaleMm, slowVariation * Math.sqrt(share));
    add(1, film.slowScaleMm, 1 - SECOND_OCTAVE);
    add(2, film.slowScaleMm / 2, SECOND_OCTAVE);
  }
  if (fineVariation > 0) addSmoothRow(out, seed ^ 0x51ed, originXMm, yMm, pitchMm, film.fineScaleMm, fineVariation);
  for (let i = 0; i < out.length; i++) out[i] = Math.max(0, meanUm * (1 + out[i]));
  return out;
}
