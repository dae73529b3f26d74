/**
 * How evenly the strokes of a spray fan add up. Profiles of the finite and Gaussian kind that the literature on spray painting
 * uses (list in the introduction of Mathematical Problems in Engineering 2016, article 9369047); the parabola and the ellipse are
 * its β distributions `q = q_max·(1 − (2x/W)²)^(β − 1)` with β = 2 and 1.5. Sums are derived here; checked against a published
 * minimum and a computed table in `test/reference/paint-build.test.ts`.
 *
 * Lengths are in widths W of the fan, thicknesses over the peak of one stroke.
 */
export type FanProfile = 'uniform' | 'triangular' | 'parabolic' | 'elliptic' | 'gaussian';

interface Fan {
  /** Offset beyond which nothing lands. */
  readonly reach: number;
  readonly mean: number;
  /** Thickness at an offset within reach. */
  readonly at: (offset: number) => number;
}

/** A Gaussian fan has no edge: W is its diameter at 1/e², `exp(−8·offset²)`, and it is cut where 4·10⁻⁶ of the peak is left. */
const GAUSSIAN_REACH = 1.25;

/** erfc(GAUSSIAN_REACH·√8): what the cut takes away. */
const GAUSSIAN_LOSS = 5.733031437583873e-7;

const FANS: Readonly<Record<FanProfile, Fan>> = {
  uniform: { reach: 0.5, mean: 1, at: () => 1 },
  triangular: { reach: 0.5, mean: 1 / 2, at: (u) => 1 - 2 * Math.abs(u) },
  parabolic: { reach: 0.5, mean: 2 / 3, at: (u) => 1 - 4 * u * u },
  elliptic: { reach: 0.5, mean: Math.PI / 4, at: (u) => Math.sqrt(1 - 4 * u * u) },
  gaussian: {
    reach: GAUSSIAN_REACH,
    mean: Math.sqrt(Math.PI / 8) * (1 - GAUSSIAN_LOSS),
    at: (u) => Math.exp(-8 * u * u),
  },
};

const thicknessOf = ({ reach, at }: Fan, offset: number): number => (Math.abs(offset) <= reach ? at(offset) : 0);

/**
 * Thickness of one stroke over its peak at an offset from the fan's middle, in fan widths; 0 outside ±0.5 (Gaussian: ±1.25).
 * @throws RangeError if the offset is no number.
 */
export function fanThickness(profile: FanProfile, offset: number): number {
  if (Number.isNaN(offset)) throw new RangeError('the offset must be a number');
  return thicknessOf(FANS[profile], offset);
}

/** Integral of `fanThickness` over the offset: what a stroke lays down over peak × width; exact but for rounding. */
export const fanMean = (profile: FanProfile): number => FANS[profile].mean;

interface StrokeOverlap {
  /** Thinnest place over the mean thickness. */
  readonly lowest: number;
  /** Thickest place over the mean thickness. */
  readonly highest: number;
  /** Coefficient of variation: standard deviation over mean. */
  readonly spread: number;
}

/** Beyond it a thousand strokes lie over each other. */
const MAX_OVERLAP = 0.999;

/** Even, as Simpson's rule wants; the spread is then good to 10⁻⁸. */
const INTERVALS = 256;

/**
 * A uniform fan has n = W/spacing strokes over a place on average: ⌊n⌋ or ⌈n⌉ in fact, so that only whole n are even. Numbers
 * nearer to a whole one than rounding can tell count as whole.
 */
function uniformOverlap(strokes: number): StrokeOverlap {
  const whole = Math.round(strokes);
  if (Math.abs(strokes - whole) < 1e-9 * strokes) return { lowest: 1, highest: 1, spread: 0 };
  const below = Math.floor(strokes);
  const more = strokes - below;
  return { lowest: below / strokes, highest: (below + 1) / strokes, spread: Math.sqrt(more * (1 - more)) / strokes };
}

/**
 * Evenness of endless parallel strokes whose fans overlap by a share of their width (spacing `s = W·(1 − overlap)`), far from the
 * first and the last. The sum repeats every s and is symmetric about strokes and half-way between, so half a period tells all; in
 * it fans end at one place only, the kink. Between kinks the sum of the finite fans is concave, hence its extremes lie on a stroke,
 * half-way, or at the kink. Lowest and highest are good to 10⁻⁷ (Gaussian: 10⁻⁵, because of the cut), the spread to 10⁻⁸.
 * @throws RangeError for an overlap outside 0–0.999.
 */
export function strokeOverlap(profile: FanProfile, overlap: number): StrokeOverlap {
  if (!(overlap >= 0 && overlap <= MAX_OVERLAP)) {
    throw new RangeError(`overlap must be a share from 0 to ${MAX_OVERLAP}, got ${overlap}`);
  }
  const fan = FANS[profile];
  const spacing = 1 - overlap;
  if (profile === 'uniform') return uniformOverlap(1 / spacing);

  const strokes = Math.ceil(fan.reach / spacing) + 1;
  /** Thickness over the mean thickness at a distance from a stroke's middle. */
  const level = (x: number): number => {
    let sum = 0;
    for (let m = -strokes; m <= strokes; m++) sum += thicknessOf(fan, x - m * spacing);
    return (sum * spacing) / fan.mean;
  };

  const half = spacing / 2;
  const rest = fan.reach % spacing;
  const kink = Math.min(rest, spacing - rest);
  const levels = [level(0), level(kink), level(half)];

  /** ∫ (level − 1)² from the kink to an end, by Simpson's rule in t, x = kink + (end − kink)·t²: smooth even where a fan ends upright. */
  const squares = (end: number): number => {
    let sum = 0;
    for (let i = 1; i <= INTERVALS; i++) {
      const t = i / INTERVALS;
      const weight = i === INTERVALS ? 1 : 2 + 2 * (i % 2);
      sum += weight * 2 * t * (level(kink + (end - kink) * t * t) - 1) ** 2;
    }
    return (Math.abs(end - kink) * sum) / (3 * INTERVALS);
  };
  return {
    lowest: Math.min(...levels),
    highest: Math.max(...levels),
    spread: Math.sqrt((squares(0) + squares(half)) / half),
  };
}

/**
 * How thick a film dries, and how far paint goes. Only the solids stay: a wet film of volume solids VS, thinned with t parts of
 * thinner to one part of paint, keeps `VS / (1 + t)` of its thickness. Holds for a film that shrinks in thickness only and
 * encloses no air. Source: arithmetic of ISO 3233 and ASTM D2697 (volume solids), as paint makers' data sheets print it; printed
 * examples in `test/reference/paint-build.test.ts`.
 *
 * Everywhere: thickness in µm; `volumeSolids` of the unthinned paint, 0–1; `thinnerShare` is the volume of thinner over that of
 * unthinned paint, 0 for none.
 */

const UM_MM2_PER_ML = 1e6;

// 1 mL is 1000 mm³, and 1 mm is 1000 µm.
const UM_M2_PER_L = 1000;

// A litre on a square metre is a millimetre.

function requireFrom0(name: string, value: number): void {
  if (!(value >= 0 && Number.isFinite(value))) throw new RangeError(`${name} must be a number ≥ 0, got ${value}`);
}

function requireAbove0(name: string, value: number): void {
  if (!(value > 0 && Number.isFinite(value))) throw new RangeError(`${name} must be a number > 0, got ${value}`);
}

function requireShare(name: string, value: number): void {
  if (!(value >= 0 && value <= 1)) throw new RangeError(`${name} must be a share from 0 to 1, got ${value}`);
}

/**
 * Dry thickness of a wet film, `DFT = WFT·VS / (1 + t)`; µm.
 * @throws RangeError for a negative or endless number, or solids outside 0–1.
 */
export function dryFromWetUm(wetUm: number, volumeSolids: number, thinnerShare: number): number {
  requireFrom0('wet thickness', wetUm);
  requireShare('volume solids', volumeSolids);
  requireFrom0('thinner', thinnerShare);
  return (wetUm * volumeSolids) / (1 + thinnerShare);
}

/**
 * Wet thickness to apply for a dry one, `WFT = DFT·(1 + t) / VS`; µm.
 * @throws RangeError for a negative or endless number, or solids outside 0–1; paint without solids dries to nothing.
 */
export function wetForDryUm(dryUm: number, volumeSolids: number, thinnerShare: number): number {
  requireFrom0('dry thickness', dryUm);
  requireShare('volume solids', volumeSolids);
  requireAbove0('volume solids', volumeSolids);
  requireFrom0('thinner', thinnerShare);
  return (dryUm * (1 + thinnerShare)) / volumeSolids;
}

/**
 * Theoretical spreading rate, `SR = 1000·VS / DFT`: the area in m² that a litre of unthinned paint covers if none is lost.
 * @throws RangeError for a thickness that is not above 0, or solids outside 0–1.
 */
export function spreadingRateM2PerL(dryUm: number, volumeSolids: number): number {
  requireAbove0('dry thickness', dryUm);
  requireShare('volume solids', volumeSolids);
  return (UM_M2_PER_L * volumeSolids) / dryUm;
}

/**
 * Mean dry thickness from an amount: this much paint on this area, `DFT = V·T·VS / ((1 + t)·A)`; µm. `millilitres` (V) is what
 * leaves the gun or the pot, thinner included; `transferShare` (T, 0–1) is the share of it that lands on the slab.
 * @throws RangeError for a negative or endless number, an area that is not above 0, or shares outside 0–1.
 */
export function dryFromAmountUm(
  millilitres: number,
  areaMm2: number,
  volumeSolids: number,
  thinnerShare: number,
  transferShare: number,
): number {
  requireFrom0('amount of paint', millilitres);
  requireAbove0('area', areaMm2);
  requireShare('transfer', transferShare);
  return dryFromWetUm((UM_MM2_PER_ML * millilitres * transferShare) / areaMm2, volumeSolids, thinnerShare);
}
