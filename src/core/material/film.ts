import { hashToNormal } from '../random/lattice-hash.ts';

/**
 * Uneven dry films: a mean thickness, a slow variation and a fine one, both smooth random fields of the place on the slab, so
 * that the same spot has the same film at any tiling and resolution. A stand-in for the physics of the application; its sizes
 * are estimates, calibrate.
 */
export interface FilmNoise {
  readonly seed: number;
  readonly slowScaleMm: number;
  readonly fineScaleMm: number;
}

/**
 * Adds a unit-variance smooth random row to `out`: cubic B-spline over a lattice of normal values, `scaleMm` apart.
 * Cell i lies at `originXMm + (i + ½)·pitchMm`. `gain` scales it.
 */
function addSmoothRow(
  out: Float32Array,
  seed: number,
  originXMm: number,
  yMm: number,
  pitchMm: number,
  scaleMm: number,
  gain: number,
): void {
  const v = yMm / scaleMm;
  const rowBase = Math.floor(v);
  const [a0, a1, a2, a3] = bSpline(v - rowBase);
  // A sum of B-spline weights times unit normals has the variance Σw²; dividing by its root keeps the variance at one.
  const rowNorm = 1 / Math.sqrt(a0 * a0 + a1 * a1 + a2 * a2 + a3 * a3);
  const lattice = new Map<number, number>();
  const column = (ix: number): number => {
    let value = lattice.get(ix);
    if (value === undefined) {
      value =
        (a0 * hashToNormal(seed, ix, rowBase - 1) +
          a1 * hashToNormal(seed, ix, rowBase) +
          a2 * hashToNormal(seed, ix, rowBase + 1) +
          a3 * hashToNormal(seed, ix, rowBase + 2)) *
        rowNorm;
      lattice.set(ix, value);
    }
    return value;
  };
  let base = Number.NaN;
  let c0 = 0;
  let c1 = 0;
  let c2 = 0;
  let c3 = 0;
  for (let i = 0; i < out.length; i++) {
    const u = (originXMm + (i + 0.5) * pitchMm) / scaleMm;
    const at = Math.floor(u);
    if (at !== base) {
      base = at;
      c0 = column(at - 1);
      c1 = column(at);
      c2 = column(at + 1);
      c3 = column(at + 2);
    }
    const f = u - at;
    const g = 1 - f;
    const w0 = (g * g * g) / 6;
    const w3 = (f * f * f) / 6;
    const w1 = (4 - 6 * f * f + 3 * f * f * f) / 6;
    const w2 = 1 - w0 - w1 - w3;
    const norm = gain / Math.sqrt(w0 * w0 + w1 * w1 + w2 * w2 + w3 * w3);
    out[i] += (w0 * c0 + w1 * c1 + w2 * c2 + w3 * c3) * norm;
  }
}

function bSpline(f: number): [number, number, number, number] {
  const g = 1 - f;
  const w0 = (g * g * g) / 6;
  const w3 = (f * f * f) / 6;
  const w1 = (4 - 6 * f * f + 3 * f * f * f) / 6;
  return [w0, w1, 1 - w0 - w1 - w3, w3];
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
