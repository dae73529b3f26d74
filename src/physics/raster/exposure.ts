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
  wanted: WantedDots = { first: 0, length: powerW.length, every: Math.max(1, powerW.length) },
): Float32Array {
  const { pitchMm, feedMmPerS, riseTimeS, fallTimeS } = optics;
  const { first, length, every } = wanted;
  const late = riseTimeS > 0 || fallTimeS > 0;
  const over = late ? lagStarts(powerW, pitchMm / feedMmPerS, riseTimeS, fallTimeS, backwards) : null;
  applyRamps(powerW, over, startDot, spanFirst, spanEnd, optics);
  const columns = powerW.length;
  const parts = out.length / columns;
  const perFeed = 1 / feedMmPerS;
  // Beyond the stretch nothing burns: margins of nothing spare each place the question where it ends.
  const padded = scratch(0, columns + 2 * UNROLLED_HALF);
  const sums = scratch(1, columns + 2 * UNROLLED_HALF);
  for (let k = 0; k < columns; k++) padded[UNROLLED_HALF + k] = powerW[k];
  padded.fill(0, UNROLLED_HALF + columns, columns + 2 * UNROLLED_HALF);
  const changes = over && !focus ? changesIn(over, wanted) : NO_CHANGES;
  for (let part = 0; part < parts; part++) {
    const weightsOf = (radiusMm: number) => partWeights(radiusMm, optics, backwards, part, parts);
    const even = focus ? null : weightsOf(optics.alongRadiusMm);
    if (even && even.box.length === UNROLLED) {
      spreadNarrow(padded, columns, changes, even, sums, wanted);
    } else {
      spreadAny(
        powerW,
        over,
        (i) => even ?? weightsOf((focus as RowFocus).alongRadiiMm[(focus as RowFocus).steps[i]]),
        sums,
      );
    }
    for (let from = first; from < columns; from += every) {
      const end = Math.min(columns, from + length);
      for (let i = from, at = from * parts + part; i < end; i++, at += parts)
        out[at] = sums[UNROLLED_HALF + i] * perFeed;
    }
  }
  return out;
}

/** Stretches of a row that are asked for: dots from `first` on, `length` of them of each `every`; what else `out` holds stays there. */
export interface WantedDots {
  readonly first: number;
  readonly length: number;
  readonly every: number;
}

/** Places of weights that most beams need at most; narrower ones are filled up with nothing. */
const UNROLLED = 9;

const UNROLLED_HALF = (UNROLLED - 1) / 2;

/** Memory that rows use one after another. */
const kept: Float64Array[] = [];

function scratch(which: number, length: number): Float64Array {
  if (!kept[which] || kept[which].length < length) kept[which] = new Float64Array(length);
  return kept[which];
}

/** Dots at which power changes, so that something is late; `weights`: where in `AlongWeights.dying` its weights begin. */
interface Changes {
  count: number;
  dot: Int32Array;
  missingW: Float64Array;
  weights: Uint8Array;
}

const NO_CHANGES: Changes = {
  count: 0,
  dot: new Int32Array(0),
  missingW: new Float64Array(0),
  weights: new Uint8Array(0),
};

let keptChanges = NO_CHANGES;

/** Those that reach what is wanted. Told once for all parts of a dot; lies in memory that rows use one after another. */
function changesIn(over: Float64Array, { first, length, every }: WantedDots): Changes {
  if (keptChanges.dot.length < over.length) {
    const length = over.length;
    keptChanges = {
      count: 0,
      dot: new Int32Array(length),
      missingW: new Float64Array(length),
      weights: new Uint8Array(length),
    };
  }
  const { dot, missingW, weights } = keptChanges;
  let count = 0;
  for (let k = 0; k < over.length; k++) {
    const missing = over[k];
    if (missing < UNSEEN_W && missing > -UNSEEN_W) continue;
    if (length < every && (k - first + UNROLLED_HALF + every) % every >= length + 2 * UNROLLED_HALF) continue;
    dot[count] = k;
    missingW[count] = missing;
    weights[count] = missing < 0 ? 0 : UNROLLED;
    count++;
  }
  keptChanges.count = count;
  return keptChanges;
}

/** The sums of `spreadAny` where the beam is the same all along and narrow: its weights stay in registers. */
function spreadNarrow(
  padded: Float64Array,
  columns: number,
  { count, dot, missingW, weights }: Changes,
  { box, dying }: AlongWeights,
  sums: Float64Array,
  { first, length, every }: WantedDots,
): void {
  // The latest place has the first weight.
  const [w8, w7, w6, w5, w4, w3, w2, w1, w0] = box;
  sums.fill(0, 0, UNROLLED_HALF);
  sums.fill(0, UNROLLED_HALF + columns, columns + 2 * UNROLLED_HALF);
  for (let from = first; from < columns; from += every) {
    const end = Math.min(columns, from + length);
    for (let i = from; i < end; i++) {
      sums[i + 4] =
        padded[i] * w0 +
        padded[i + 1] * w1 +
        padded[i + 2] * w2 +
        padded[i + 3] * w3 +
        padded[i + 4] * w4 +
        padded[i + 5] * w5 +
        padded[i + 6] * w6 +
        padded[i + 7] * w7 +
        padded[i + 8] * w8;
    }
  }
  for (let i = 0; i < count; i++) {
    const missing = missingW[i];
    const k = dot[i];
    const at = weights[i];
    sums[k] += missing * dying[at];
    sums[k + 1] += missing * dying[at + 1];
    sums[k + 2] += missing * dying[at + 2];
    sums[k + 3] += missing * dying[at + 3];
    sums[k + 4] += missing * dying[at + 4];
    sums[k + 5] += missing * dying[at + 5];
    sums[k + 6] += missing * dying[at + 6];
    sums[k + 7] += missing * dying[at + 7];
    sums[k + 8] += missing * dying[at + 8];
  }
}

/** What comes of a stretch of commands in each dot, W, from index `UNROLLED_HALF` on; `weightsAt`: the beam at a dot. */
function spreadAny(
  powerW: Float64Array,
  over: Float64Array | null,
  weightsAt: (dot: number) => AlongWeights,
  sums: Float64Array,
): void {
  const last = powerW.length - 1;
  for (let i = 0; i <= last; i++) {
    const { box } = weightsAt(i);
    const half = (box.length - 1) / 2;
    const from = Math.max(0, i - half);
    const to = Math.min(last, i + half);
    let sum = 0;
    for (let k = from, at = i - from + half; k <= to; k++, at--) sum += powerW[k] * box[at];
    sums[UNROLLED_HALF + i] = sum;
  }
  for (let k = 0; over && k <= last; k++) {
    const missing = over[k];
    if (Math.abs(missing) < UNSEEN_W) continue;
    const { rise, fall } = weightsAt(k);
    const dying = missing < 0 ? rise : fall;
    const half = (dying.length - 1) / 2;
    const to = Math.min(last, k + half);
    const from = Math.max(0, k - half);
    for (let i = from, at = from - k + half; i <= to; i++, at++) sums[UNROLLED_HALF + i] += missing * dying[at];
  }
}

/** Watts over or under the command that are as good as none. */
const UNSEEN_W = 1e-6;

/** Where the work is not flat: the beam's radius along the row, by steps of focus, for each dot. */
export interface RowFocus {
  readonly alongRadiiMm: Float64Array;
  readonly steps: Uint8Array;
}

/** The beam along the row from a place: of a dot's constant power, and of what is still missing or left as it begins. */
interface AlongWeights {
  readonly box: Float64Array;
  readonly rise: Float64Array;
  readonly fall: Float64Array;
  /** Both, one after the other. */
  readonly dying: Float64Array;
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
    const box = filledUp(alongWeights(radiusMm, pitchMm, shiftDots));
    const lag = (timeS: number) =>
      timeS > 0
        ? filledUp(lagWeights(radiusMm, pitchMm, shiftDots, (timeS * feedMmPerS) / pitchMm, backwards))
        : new Float64Array(box.length);
    const dying = Float64Array.from([...lag(riseTimeS), ...lag(fallTimeS)]);
    weights = { box, rise: dying.subarray(0, box.length), fall: dying.subarray(box.length), dying };
    byShift.set(shiftDots, weights);
  }
  return weights;
}

function filledUp(weights: Float64Array): Float64Array {
  if (weights.length >= UNROLLED) return weights;
  const filled = new Float64Array(UNROLLED);
  filled.set(weights, (UNROLLED - weights.length) / 2);
  return filled;
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
