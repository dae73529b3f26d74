import { normalShareBelow } from '../../base/normal.ts';
import { rampFactor } from './pass-raster.ts';

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
    weights[k + half] = normalShareBelow(high) - normalShareBelow(low);
    sum += weights[k + half];
  }
  return weights.map((weight) => weight / sum);
}

/**
 * How far a source that follows its command as a first-order lag, with separate rise and fall times, is over its command as each dot
 * begins, W; in the direction of travel. Within the dot that dies away as exp(−t/τ), exactly, for the command is constant there.
 */
export function lagStarts(
  powerW: Float64Array,
  dotTimeS: number,
  riseS: number,
  fallS: number,
  backwards: boolean,
): Float64Array {
  const over = new Float64Array(powerW.length);
  const riseLeft = riseS > 0 ? Math.exp(-dotTimeS / riseS) : 0;
  const fallLeft = fallS > 0 ? Math.exp(-dotTimeS / fallS) : 0;
  let state = 0;
  for (let i = 0; i < powerW.length; i++) {
    const at = backwards ? powerW.length - 1 - i : i;
    over[at] = state - powerW[at];
    state = powerW[at] + over[at] * (over[at] < 0 ? riseLeft : fallLeft);
  }
  return over;
}

/** Places in a dot over which the dying lag is summed. */
const LAG_PLACES = 48;

/**
 * Weights as those of `alongWeights` for what dies away as exp(−t/τ) from the beginning of its dot; `lagDots`: way in dots during τ.
 * Summed over places at which equal parts of it have come.
 */
function lagWeights(
  alongRadiusMm: number,
  pitchMm: number,
  shiftDots: number,
  lagDots: number,
  backwards: boolean,
): Float64Array {
  const sigma = Math.max(alongRadiusMm / 2 / pitchMm, 1e-6);
  const half = Math.ceil(4 * sigma + Math.abs(shiftDots)) + 1;
  const weights = new Float64Array(2 * half + 1);
  const whole = 1 - Math.exp(-1 / lagDots);
  for (let place = 0; place < LAG_PLACES; place++) {
    const since = -lagDots * Math.log(1 - (whole * (place + 0.5)) / LAG_PLACES);
    const inDot = backwards ? 0.5 - since : since - 0.5;
    for (let k = -half; k <= half; k++) {
      const z = (k - shiftDots - inDot) / sigma;
      weights[k + half] += Math.exp(-0.5 * z * z);
    }
  }
  const share = (lagDots * whole) / (LAG_PLACES * sigma * Math.sqrt(2 * Math.PI));
  return weights.map((weight) => weight * share);
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
  const { pitchMm, feedMmPerS, riseTimeS, fallTimeS } = optics;
  const late = riseTimeS > 0 || fallTimeS > 0;
  const over = late ? lagStarts(powerW, pitchMm / feedMmPerS, riseTimeS, fallTimeS, backwards) : null;
  applyRamps(powerW, over, startDot, spanFirst, spanEnd, optics);
  const parts = out.length / powerW.length;
  const perFeed = 1 / feedMmPerS;
  const last = powerW.length - 1;
  const sums = new Float64Array(powerW.length);
  for (let part = 0; part < parts; part++) {
    const weightsOf = (radiusMm: number) => partWeights(radiusMm, optics, backwards, part, parts);
    let weights = weightsOf(optics.alongRadiusMm);
    for (let i = 0; i <= last; i++) {
      if (focus) weights = weightsOf(focus.alongRadiiMm[focus.steps[i]]);
      const { box } = weights;
      const half = (box.length - 1) / 2;
      const from = Math.max(0, i - half);
      const to = Math.min(last, i + half);
      let sum = 0;
      for (let k = from, at = i - from + half; k <= to; k++, at--) sum += powerW[k] * box[at];
      sums[i] = sum;
    }
    // Only where power changes is anything late.
    for (let k = 0; over && k <= last; k++) {
      const missing = over[k];
      if (Math.abs(missing) < UNSEEN_W) continue;
      if (focus) weights = weightsOf(focus.alongRadiiMm[focus.steps[k]]);
      const dying = missing < 0 ? weights.rise : weights.fall;
      const half = (dying.length - 1) / 2;
      const to = Math.min(last, k + half);
      const from = Math.max(0, k - half);
      for (let i = from, at = from - k + half; i <= to; i++, at++) sums[i] += missing * dying[at];
    }
    for (let i = 0; i <= last; i++) out[i * parts + part] = sums[i] * perFeed;
  }
  return out;
}

/** Watts over or under the command that are as good as none. */
const UNSEEN_W = 1e-6;

/** Where the work is not flat: the beam's radius along the row, by steps of focus, for each dot. */
export interface RowFocus {
  readonly alongRadiiMm: Float64Array;
  readonly steps: Uint8Array;
}

/** The beam along the row from a place: of a dot's constant power, and of what is still missing or left as it begins. */
export interface AlongWeights {
  readonly box: Float64Array;
  readonly rise: Float64Array;
  readonly fall: Float64Array;
}

/** By radius, shift and direction; optics are made once for a job. */
const known = new WeakMap<RowOptics, Map<number, Map<number, AlongWeights>>[]>();

/** Weights of the dots round about at the middle of one of so many equal parts of a dot, for a spot of a radius. */
export function partWeights(
  radiusMm: number,
  optics: RowOptics,
  backwards: boolean,
  part: number,
  parts: number,
): AlongWeights {
  const offset = backwards ? optics.rowOffsetErrorMm / optics.pitchMm : 0;
  // The beam's profile seen from a place right of the dot's middle is the profile moved to the left.
  return weightsFor(radiusMm, offset - ((part + 0.5) / parts - 0.5), optics, backwards);
}

function weightsFor(radiusMm: number, shiftDots: number, optics: RowOptics, backwards: boolean): AlongWeights {
  let directions = known.get(optics);
  if (!directions) {
    directions = [new Map(), new Map()];
    known.set(optics, directions);
  }
  const byRadius = directions[backwards ? 1 : 0];
  let byShift = byRadius.get(radiusMm);
  if (!byShift) {
    byShift = new Map();
    byRadius.set(radiusMm, byShift);
  }
  let weights = byShift.get(shiftDots);
  if (!weights) {
    const { pitchMm, feedMmPerS, riseTimeS, fallTimeS } = optics;
    const box = alongWeights(radiusMm, pitchMm, shiftDots);
    const lag = (timeS: number) =>
      timeS > 0
        ? lagWeights(radiusMm, pitchMm, shiftDots, (timeS * feedMmPerS) / pitchMm, backwards)
        : new Float64Array(box.length);
    weights = { box, rise: lag(riseTimeS), fall: lag(fallTimeS) };
    byShift.set(shiftDots, weights);
  }
  return weights;
}

const knownRamps = new WeakMap<RowOptics, Float64Array>();

/** Factors on the power of dots so many from an end of a row of `dots`, where the run-up is shorter than the ramp; beyond them it is held. */
export function rampFactors(optics: RowOptics, dots: number): Float64Array {
  const { pitchMm, runUpMm, feedMmPerS, accelerationMmPerS2 } = optics;
  if (optics.powerAtRamps !== 'held') return new Float64Array(0);
  const rampDots = Math.ceil(((feedMmPerS * feedMmPerS) / (2 * accelerationMmPerS2) - runUpMm) / pitchMm);
  const length = Math.max(0, Math.min(rampDots, Math.ceil(dots / 2)));
  let factors = knownRamps.get(optics);
  if (!factors || factors.length < length) {
    factors = Float64Array.from({ length }, (_, fromEnd) =>
      rampFactor(runUpMm + fromEnd * pitchMm, pitchMm, feedMmPerS, accelerationMmPerS2),
    );
    knownRamps.set(optics, factors);
  }
  return factors;
}

function applyRamps(
  powerW: Float64Array,
  over: Float64Array | null,
  startDot: number,
  first: number,
  end: number,
  optics: RowOptics,
): void {
  const factors = rampFactors(optics, end - first);
  if (factors.length === 0) return;
  for (let i = 0; i < powerW.length; i++) {
    const dot = startDot + i;
    if (dot < first || dot >= end) continue;
    const fromEnd = Math.min(dot - first, end - 1 - dot);
    if (fromEnd >= factors.length) continue;
    powerW[i] *= factors[fromEnd];
    if (over) over[i] *= factors[fromEnd];
  }
}
