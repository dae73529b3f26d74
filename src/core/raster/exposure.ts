import { rampFactor } from './motion.ts';

/** What a row's power goes through on its way to the surface. Lengths in dots of the raster unless named otherwise. */
export interface RowOptics {
  readonly pitchMm: number;
  readonly feedMmPerS: number;
  /** 1/e² radius along the row, mm. */
  readonly alongRadiusMm: number;
  readonly riseTimeS: number;
  readonly fallTimeS: number;
  readonly accelerationMmPerS2: number;
  readonly runUpMm: number;
  readonly powerAtRamps: 'held' | 'follows-feed';
  readonly rowOffsetErrorMm: number;
}

/** Weights of the beam's profile along the row, integrated over each dot; `shiftDots` moves it along the row. */
export function alongWeights(alongRadiusMm: number, pitchMm: number, shiftDots: number): Float64Array {
  const sigma = Math.max(alongRadiusMm / 2 / pitchMm, 1e-6);
  const half = Math.ceil(4 * sigma + Math.abs(shiftDots)) + 1;
  const weights = new Float64Array(2 * half + 1);
  let sum = 0;
  for (let k = -half; k <= half; k++) {
    const low = (k - 0.5 - shiftDots) / sigma;
    const high = (k + 0.5 - shiftDots) / sigma;
    weights[k + half] = normalShare(high) - normalShare(low);
    sum += weights[k + half];
  }
  return weights.map((weight) => weight / sum);
}

/** Share of a normal distribution below z. erf after Abramowitz & Stegun 7.1.26, |error| < 1.5e-7 (value from memory). */
function normalShare(z: number): number {
  const x = Math.abs(z) / Math.SQRT2;
  const t = 1 / (1 + 0.3275911 * x);
  const series = t * (0.254829592 + t * (-0.284496736 + t * (1.421413741 + t * (-1.453152027 + t * 1.061405429))));
  const upper = 0.5 * series * Math.exp(-x * x);
  return z < 0 ? upper : 1 - upper;
}

/**
 * Mean power in each dot of a source that follows its command as a first-order lag with separate rise and fall times;
 * exact for power that is constant over a dot. In place, in the direction of travel.
 */
export function applyLag(
  powerW: Float64Array,
  dotTimeS: number,
  riseS: number,
  fallS: number,
  backwards: boolean,
): void {
  if (riseS <= 0 && fallS <= 0) return;
  const rise = lagOver(dotTimeS, riseS);
  const fall = lagOver(dotTimeS, fallS);
  let state = 0;
  for (let i = 0; i < powerW.length; i++) {
    const at = backwards ? powerW.length - 1 - i : i;
    const wanted = powerW[at];
    const lag = wanted > state ? rise : fall;
    powerW[at] = wanted + (state - wanted) * lag.mean;
    state = wanted + (state - wanted) * lag.end;
  }
}

/** Share of a step that is still missing on average over a dot's time, and at its end. */
function lagOver(dotTimeS: number, tauS: number): { mean: number; end: number } {
  if (tauS <= 0) return { mean: 0, end: 0 };
  const end = Math.exp(-dotTimeS / tauS);
  return { mean: (tauS * (1 - end)) / dotTimeS, end };
}

/** Dots after which a source's lag and the beam's tail have died away. */
export function haloDots(optics: RowOptics): number {
  const lagMm = 8 * Math.max(optics.riseTimeS, optics.fallTimeS) * optics.feedMmPerS;
  return Math.ceil((lagMm + 2 * optics.alongRadiusMm + Math.abs(optics.rowOffsetErrorMm)) / optics.pitchMm) + 2;
}

/**
 * Energy per length along the row that one crossing brings to each dot's centre, J/mm: power over speed, after the source's lag,
 * the ramps where the run-up is too short, the two-way offset and the beam's profile along the row. Multiply with a line
 * profile (1/mm) for the dose.
 *
 * `powerW`: commanded watts of a stretch of the row, `startDot` its first dot in the row, `spanFirst`/`spanEnd` the dots between
 * which this row is travelled. Changed in place on the way. `out` gets one value a dot, at its middle, or as many as it is longer than
 * `powerW`, at the middles of as many equal parts of each dot; it is returned.
 */
export function rowExposure(
  powerW: Float64Array,
  backwards: boolean,
  startDot: number,
  spanFirst: number,
  spanEnd: number,
  optics: RowOptics,
  out: Float32Array = new Float32Array(powerW.length),
  focus: RowFocus | null = null,
): Float32Array {
  applyLag(powerW, optics.pitchMm / optics.feedMmPerS, optics.riseTimeS, optics.fallTimeS, backwards);
  if (optics.powerAtRamps === 'held') applyRamps(powerW, startDot, spanFirst, spanEnd, optics);
  const parts = out.length / powerW.length;
  const offset = backwards ? optics.rowOffsetErrorMm / optics.pitchMm : 0;
  const perFeed = 1 / optics.feedMmPerS;
  for (let part = 0; part < parts; part++) {
    // The beam's profile seen from a place right of the dot's middle is the profile moved to the left.
    const shift = offset - ((part + 0.5) / parts - 0.5);
    let weights = weightsFor(optics.alongRadiusMm, optics.pitchMm, shift);
    let half = (weights.length - 1) / 2;
    for (let i = 0; i < powerW.length; i++) {
      let sum = 0;
      if (focus) {
        weights = weightsFor(focus.alongRadiiMm[focus.steps[i]], optics.pitchMm, shift);
        half = (weights.length - 1) / 2;
      }
      const from = Math.max(0, i - half);
      const to = Math.min(powerW.length - 1, i + half);
      for (let k = from; k <= to; k++) sum += powerW[k] * weights[i - k + half];
      out[i * parts + part] = sum * perFeed;
    }
  }
  return out;
}

/** Where the work is not flat: the beam's radius along the row, by steps of focus, for each dot. */
export interface RowFocus {
  readonly alongRadiiMm: Float64Array;
  readonly steps: Uint8Array;
}

/** The last few profiles; a pass needs one or two, a warped slab some more. */
const lastWeights: { radiusMm: number; pitchMm: number; shiftDots: number; weights: Float64Array }[] = [];
const WEIGHTS_KEPT = 32;

function weightsFor(radiusMm: number, pitchMm: number, shiftDots: number): Float64Array {
  for (const kept of lastWeights) {
    if (kept.radiusMm === radiusMm && kept.shiftDots === shiftDots && kept.pitchMm === pitchMm) return kept.weights;
  }
  const weights = alongWeights(radiusMm, pitchMm, shiftDots);
  lastWeights.unshift({ radiusMm, pitchMm, shiftDots, weights });
  lastWeights.length = Math.min(lastWeights.length, WEIGHTS_KEPT);
  return weights;
}

/** Both ends of a row are slow where the run-up is shorter than the ramp. */
function applyRamps(powerW: Float64Array, startDot: number, first: number, end: number, optics: RowOptics): void {
  const { pitchMm, runUpMm, feedMmPerS, accelerationMmPerS2 } = optics;
  const rampDots = Math.ceil(((feedMmPerS * feedMmPerS) / (2 * accelerationMmPerS2) - runUpMm) / pitchMm);
  if (rampDots <= 0) return;
  for (let i = 0; i < powerW.length; i++) {
    const dot = startDot + i;
    if (dot < first || dot >= end) continue;
    const fromEnd = Math.min(dot - first, end - 1 - dot);
    if (fromEnd >= rampDots) continue;
    powerW[i] *= rampFactor(runUpMm + fromEnd * pitchMm, pitchMm, feedMmPerS, accelerationMmPerS2);
  }
}
