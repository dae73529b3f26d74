import type { Coat, Machine, Piece } from '../../piece/schema.ts';

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
  ...(index > 0 ? [ofCoat(index, 'scorchOnset', 'scorchOnsetJPerMm2', 'scorch onset', 'J/mm²', () => 0.4)] : []),
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

/** The parameter of a name; undefined if the piece has none. */
export const parameterOf = (piece: Piece, name: string): Parameter | undefined =>
  parametersOf(piece).find((parameter) => parameter.name === name);

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
