import { createGenerator } from '../../base/random/generator.ts';
import { DEFAULT_APPLICATIONS } from '../../piece/defaults.ts';
import type { Certainty, Coat, Machine, Piece } from '../../piece/schema.ts';

/**
 * The piece as it may truly be: the `draw`-th of a seeded series, with a film that may lie there. Draw 0 is not the piece
 * itself. A piece that keeps the covariance of what a calibration or a burn told of it is drawn from that, power from day to day besides;
 * any other from the four spreads.
 */
export function drawPiece(piece: Piece, draw: number): Piece {
  return drawNumbers(withDrawnFilm(piece, draw), draw);
}

/** Of a film that was measured so much of the slow unevenness is left unknown (estimate). */
const LEFT_UNKNOWN = 0.35;

/** The piece with one of the films that may lie there instead of the mean one; where a film was measured only what that left open varies. */
export function withDrawnFilm(piece: Piece, draw: number): Piece {
  const { stack } = piece;
  // Measured against the drawn film of an earlier version: that one lies there.
  if (stack.film.found && stack.film.shown === 'drawn') return piece;
  const seed = (stack.film.seed + 15485863 * (draw + 1)) >>> 0;
  const film: Piece['stack']['film'] = { ...stack.film, shown: 'drawn', seed };
  if (!film.found) return { ...piece, stack: { ...stack, film } };
  const coats = stack.coats.map((coat, i) =>
    i > 0
      ? coat
      : { ...coat, slowVariation: LEFT_UNKNOWN * coat.slowVariation, application: DEFAULT_APPLICATIONS.even },
  );
  return { ...piece, stack: { ...stack, film, coats } };
}

function drawNumbers(piece: Piece, draw: number): Piece {
  const spread = piece.certainty;
  const random = createGenerator(0x5eed + draw);
  const factor = (deviation: number) => Math.exp(deviation * random.nextNormal());
  const power = factor(spread.power);
  const source = { ...piece.machine.source, fullPowerW: piece.machine.source.fullPowerW * power };
  const powered = { ...piece, machine: { ...piece.machine, source } };
  const { names, matrix } = spreadOf(piece);
  const normals = names.map(() => random.nextNormal());
  return shiftPiece(powered, names, correlated(lowerTriangle(matrix), normals));
}

/** What is not known of a piece's numbers, as a covariance of logarithms: what a calibration left open, else as far as its coats may be off. */
export function spreadOf(piece: Piece): { names: readonly string[]; matrix: readonly (readonly number[])[] } {
  if (piece.certainty.covariance) return piece.certainty.covariance;
  const drawn = parametersOf(piece).filter(({ name }) => OF_PRESET.test(name));
  return {
    names: drawn.map(({ name }) => name),
    matrix: drawn.map((one, i) => drawn.map((_, j) => (i === j ? one.deviation(piece) ** 2 : 0))),
  };
}

const OF_PRESET = /^coat\d+\.(threshold|specificEnergy|thickness|scorchOnset)$/;

/** Logarithms that differ less than this from draw to draw are not drawn at all. */
const SAME = 1e-9;

/**
 * The piece with the numbers that weighted draws of it (`spread.ts`) speak for, and with what they leave open: the weighted mean and
 * covariance of the numbers' logarithms, widened by n / (n − 1) for n effective draws. A burn tells the sum a pass pays and little of
 * its parts, so it is their covariance that shrinks.
 *
 * Watts and thickness stay as the maker gave them: what the draws say of those goes into thresholds and specific energies.
 */
export function learnFrom(piece: Piece, draws: readonly Weighted<Piece>[]): Piece {
  if (piece.stack.coats.length === 0 || draws.length === 0) return piece;
  const logs = draws.map(({ value, weight }) => ({ value: logsOf(piece, value), weight }));
  const all = parametersOf(piece).map(({ name }) => name);
  const drawn = all.filter((_, i) => logs.some(({ value }) => Math.abs(value[i] - logs[0].value[i]) > SAME));
  if (drawn.length === 0) return piece;
  const at = drawn.map((name) => all.indexOf(name));
  const means = at.map((i) => weightedMean(logs.map(({ value, weight }) => ({ value: value[i], weight }))));
  const count = effectiveCount(draws);
  const wider = count > 1 ? count / (count - 1) : 1;
  const covariance = (i: number, j: number) =>
    wider *
    weightedMean(
      logs.map(({ value, weight }) => ({
        value: (value[at[i]] - means[i]) * (value[at[j]] - means[j]),
        weight,
      })),
    );
  const matrix = drawn.map((_, i) => drawn.map((__, j) => covariance(Math.min(i, j), Math.max(i, j))));
  const certainty: Certainty = { ...piece.certainty, covariance: { names: drawn, matrix } };
  return { ...shiftPiece(piece, drawn, withGivenThickness(drawn, means)), certainty };
}

/**
 * Natural logarithms of a draw's numbers over the piece's. A draw with more watts is one whose coats take less energy: the doses at
 * which coats go are told over the watts.
 */
function logsOf(piece: Piece, drawn: Piece): number[] {
  const power = Math.log(drawn.machine.source.fullPowerW / piece.machine.source.fullPowerW);
  const values = new Map(parametersOf(drawn).map((parameter) => [parameter.name, parameter.get(drawn)]));
  return parametersOf(piece).map((parameter) => {
    const value = Math.log((values.get(parameter.name) ?? parameter.get(piece)) / parameter.get(piece));
    return /threshold|specificEnergy/.test(parameter.name) ? value - power : value;
  });
}

/** Shifts of thickness handed to the specific energy of the same coat. */
function withGivenThickness(names: readonly string[], shifts: readonly number[]): number[] {
  return names.map((name, i) => {
    const [coat, what] = name.split('.');
    if (what === 'thickness') return 0;
    const thickness = what === 'specificEnergy' ? names.indexOf(`${coat}.thickness`) : -1;
    return thickness < 0 ? shifts[i] : shifts[i] + shifts[thickness];
  });
}

/** Likely truths with weights; weights are not negative and need not sum to 1. */
export interface Weighted<Value> {
  readonly value: Value;
  readonly weight: number;
}

/** The first value with more than a share of the weight up to it, as in the bands of a proof (`how-sure.ts`). @throws RangeError without any weight. */
export function weightedQuantile(values: readonly Weighted<number>[], share: number): number {
  const sorted = values.filter(({ weight }) => weight > 0).sort((a, b) => a.value - b.value);
  if (sorted.length === 0) throw new RangeError('nothing has any weight');
  const total = sorted.reduce((sum, { weight }) => sum + weight, 0);
  let sum = 0;
  for (const { value, weight } of sorted) {
    sum += weight;
    if (sum > share * total + 1e-12 * total) return value;
  }
  return sorted[sorted.length - 1].value;
}

export function weightedMean(values: readonly Weighted<number>[]): number {
  const total = values.reduce((sum, { weight }) => sum + weight, 0);
  return values.reduce((sum, { value, weight }) => sum + weight * value, 0) / total;
}

/** How many equally weighted values would tell as much: (Σw)² / Σw² (Kish 1965). */
export function effectiveCount(values: readonly Weighted<unknown>[]): number {
  const sum = values.reduce((total, { weight }) => total + weight, 0);
  const squares = values.reduce((total, { weight }) => total + weight * weight, 0);
  return squares > 0 ? (sum * sum) / squares : 0;
}

/**
 * At most `count` of the values that stand for all: systematic resampling, equal ones merged. Their weights sum to 1.
 * Source: G. Kitagawa, "Monte Carlo filter and smoother", J. Comput. Graph. Stat. 5 (1996), stratified version, with a fixed start.
 */
export function thinOut<Value>(values: readonly Weighted<Value>[], count: number): Weighted<Value>[] {
  const total = values.reduce((sum, { weight }) => sum + weight, 0);
  const picked = new Map<Value, number>();
  let sum = 0;
  let next = 0;
  for (const { value, weight } of values) {
    sum += weight / total;
    while (next < count && (next + 0.5) / count <= sum + 1e-12) {
      picked.set(value, (picked.get(value) ?? 0) + 1 / count);
      next++;
    }
  }
  return [...picked].map(([value, weight]) => ({ value, weight }));
}

/**
 * Lower triangle of a covariance matrix, `C = L Lᵀ` (Cholesky). Directions that are known exactly get nothing instead of an error, so a
 * matrix that has lost rank to rounding still serves.
 */
export function lowerTriangle(matrix: readonly (readonly number[])[]): number[][] {
  const n = matrix.length;
  const lower = Array.from({ length: n }, () => new Array<number>(n).fill(0));
  for (let i = 0; i < n; i++) {
    for (let j = 0; j <= i; j++) {
      let sum = matrix[i][j];
      for (let k = 0; k < j; k++) sum -= lower[i][k] * lower[j][k];
      if (i === j) lower[i][i] = Math.sqrt(Math.max(0, sum));
      else lower[i][j] = lower[j][j] > 1e-12 ? sum / lower[j][j] : 0;
    }
  }
  return lower;
}

/** One draw with that covariance from independent standard normal numbers. */
const correlated = (lower: readonly (readonly number[])[], normals: ArrayLike<number>): number[] =>
  lower.map((row, i) => row.reduce((sum, value, k) => (k <= i ? sum + value * normals[k] : sum), 0));

/**
 * The numbers that a card can tell, each a positive one that is fitted as its natural logarithm. Full power is none of them: a card
 * tells doses only, so thresholds and energies hold for the watts that the piece names.
 */
export interface Parameter {
  readonly name: string;
  /** For makers, and how it is shown. */
  readonly words: string;
  readonly unit: string;
  readonly get: (piece: Piece) => number;
  readonly set: (piece: Piece, value: number) => Piece;
  /** How far the truth may lie from a preset: standard deviation of the logarithm. */
  readonly deviation: (piece: Piece) => number;
}

type CoatNumber =
  | 'thresholdJPerMm2'
  | 'specificEnergyJPerMm3'
  | 'dryThicknessUm'
  | 'scatteringPerMm'
  | 'opticalDepthUm'
  | 'touchedFactor'
  | 'scorchOnsetJPerMm2';

type SourceNumber = 'spotAcrossMm' | 'spotAlongMm' | 'beamQuality' | 'firingFloor';

const ofSource = (name: string, key: SourceNumber, words: string, unit: string, deviation: number): Parameter => ({
  name,
  words,
  unit,
  get: (piece) => piece.machine.source[key],
  set: (piece, value) => withMachine(piece, { source: { ...piece.machine.source, [key]: value } }),
  deviation: () => deviation,
});

const withMachine = (piece: Piece, more: Partial<Machine>): Piece => ({
  ...piece,
  machine: { ...piece.machine, ...more },
});

const TYPICAL_DEPTH_UM = 5;

const coatWords = (index: number): string =>
  index === 0 ? 'top coat' : index === 1 ? 'undercoat' : `coat ${index + 1}`;

function ofCoat(
  index: number,
  name: string,
  key: CoatNumber,
  words: string,
  unit: string,
  deviation: Parameter['deviation'],
): Parameter {
  return {
    name: `coat${index}.${name}`,
    words: `${words} of the ${coatWords(index)}`,
    unit,
    get: (piece) => (piece.stack.coats[index] as Coat)[key],
    set: (piece, value) => ({
      ...piece,
      stack: {
        ...piece.stack,
        coats: piece.stack.coats.map((coat, i) => (i === index ? { ...coat, [key]: value } : coat)),
      },
    }),
    deviation,
  };
}

/** A preset takes none; a card is fitted from a typical one of dark paint in the blue (δ = 7 µm is the estimate of physics/material/layers.ts). */
const OPTICAL_DEPTH: Parameter = {
  ...ofCoat(0, 'opticalDepth', 'opticalDepthUm', 'optical depth', 'µm', () => 0.6),
  get: ({ stack: { coats } }) => coats[0].opticalDepthUm || TYPICAL_DEPTH_UM,
};

/** What a law fitted to first passes is off by in second ones: a factor on their dose (spread: the blind worlds of the tests). */
const TOUCHED = ofCoat(0, 'touched', 'touchedFactor', 'uptake of touched skin', '', () => 0.15);

/** Numbers of the law that presets do without, and that only shades tell. */
export const LAW_NUMBERS: readonly string[] = ['coat0.opticalDepth', 'coat0.touched'];

/** Nobody measures the dose from which an undercoat yellows: it is known half as well as what takes a coat away. */
const ONSET_OVER = 2;

// Deviations that the piece does not name are estimates.
const ofOneCoat = (index: number): Parameter[] => [
  ofCoat(index, 'threshold', 'thresholdJPerMm2', 'threshold dose', 'J/mm²', (piece) => piece.certainty.threshold),
  ofCoat(
    index,
    'specificEnergy',
    'specificEnergyJPerMm3',
    'specific energy',
    'J/mm³',
    (piece) => piece.certainty.specificEnergy,
  ),
  ofCoat(index, 'thickness', 'dryThicknessUm', 'film thickness', 'µm', (piece) => piece.certainty.thickness),
  ofCoat(index, 'scattering', 'scatteringPerMm', 'hiding', '1/mm', () => 0.2),
  // Of the coat that is burned: others are seldom reached.
  ...(index === 0 ? [OPTICAL_DEPTH, TOUCHED] : []),
  // What goes past the top coat scorches the one below; of the top coat itself it is of no account.
  ...(index > 0
    ? [
        ofCoat(
          index,
          'scorchOnset',
          'scorchOnsetJPerMm2',
          'scorch onset',
          'J/mm²',
          (piece) => ONSET_OVER * piece.certainty.threshold,
        ),
      ]
    : []),
];

/** Under a single coat it is the wood that chars. */
const WOOD_ONSET: Parameter = {
  name: 'wood.scorchOnset',
  words: 'char onset of the wood',
  unit: 'J/mm²',
  get: ({ slab }) => slab.wood.scorchOnsetJPerMm2,
  set: (piece, value) => ({
    ...piece,
    slab: { ...piece.slab, wood: { ...piece.slab.wood, scorchOnsetJPerMm2: value } },
  }),
  deviation: () => 0.4,
};

/** Every parameter that a piece has, the machine's first. */
export function parametersOf(piece: Piece): Parameter[] {
  const heat: Parameter = {
    name: 'retainedHeat',
    words: 'share of the heat that stays',
    unit: '',
    get: ({ heat: { retainedShare } }) => retainedShare,
    set: (of, value) => ({ ...of, heat: { ...of.heat, retainedShare: Math.min(1, value) } }),
    // Nobody has measured it on painted wood.
    deviation: () => 0.7,
  };
  return [
    ofSource('spotAcross', 'spotAcrossMm', 'spot radius across the rows', 'mm', 0.15),
    ofSource('spotAlong', 'spotAlongMm', 'spot radius along the rows', 'mm', 0.15),
    ofSource('beamQuality', 'beamQuality', 'beam propagation ratio M²', '', 0.3),
    ofSource('firingFloor', 'firingFloor', 'firing floor', 'of full power', 0.5),
    heat,
    ...piece.stack.coats.flatMap((_, index) => ofOneCoat(index)),
    ...(piece.stack.coats.length === 1 ? [WOOD_ONSET] : []),
  ].filter((parameter) => parameter.get(piece) > 0);
}

/** The piece with each named number multiplied by exp(its logarithm's shift); names that it does not have are passed over. */
export function shiftPiece(piece: Piece, names: readonly string[], shifts: ArrayLike<number>): Piece {
  const known = new Map(parametersOf(piece).map((parameter) => [parameter.name, parameter]));
  let shifted = piece;
  names.forEach((name, i) => {
    const parameter = known.get(name);
    if (parameter) shifted = parameter.set(shifted, parameter.get(piece) * Math.exp(shifts[i]));
  });
  return shifted;
}
