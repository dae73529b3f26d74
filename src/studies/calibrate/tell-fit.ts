import type { Piece } from '../../piece/schema.ts';
import type { Card } from '../../vision/card/card.ts';
import type { CardReading } from '../../vision/card/reading.ts';
import { type Parameter, shiftPiece } from '../sure/parameters.ts';
import { type FitResult, weakDirections } from './fit/robust-fit.ts';
import type { Measurement } from './measurements.ts';

export interface FittedNumber {
  readonly name: string;
  readonly words: string;
  readonly unit: string;
  readonly before: number;
  readonly value: number;
  /** Ends of nine tenths. */
  readonly low: number;
  readonly high: number;
  /** Standard deviations of the logarithm, before and after. */
  readonly deviationBefore: number;
  readonly deviation: number;
}

/** One measurement against what the fit says. */
export interface Residual {
  readonly what: string;
  readonly measured: number;
  readonly fitted: number;
  /** Difference in standard deviations; beyond about 3 it hardly counted. */
  readonly off: number;
  readonly counted: number;
}

export interface CardFit {
  /** The piece with fitted numbers, their spread and covariance. */
  readonly piece: Piece;
  readonly numbers: readonly FittedNumber[];
  readonly residuals: readonly Residual[];
  /** Groups of numbers that this card cannot tell apart, and what would. */
  readonly untold: readonly { readonly names: readonly string[]; readonly words: string }[];
  /** Root mean square of the residuals in standard deviations: about 1 if all is as thought. */
  readonly misfit: number;
  readonly settled: boolean;
  readonly rowOffsetMm: { readonly mm: number; readonly deviation: number } | null;
}

/** Two-sided nine tenths of a normal distribution. */
const NINE_TENTHS = 1.6448536;

/**
 * Where a film just clears, lightness runs away from any straight line, and the slopes at the answer promise more than they keep: in the cases of
 * test/bench/calibration deviations came out a quarter too small.
 */
const WIDENING = 1.25;

/**
 * What the law is off by on the next slab, whatever the cards said: as a share of the film that a pass takes, and as a factor on the dose of a pass that
 * finds touched skin (standard deviations of the logarithm). A discrepancy term of the forecast, as the ladders have theirs in the fit: it goes into the
 * piece's spread, not into that of the numbers. From nine fits in the blind worlds of the tests, four of them in drawn ones: clearing powers 8 %, powers of second passes 34 % off (rms), where
 * the fit alone would have it at 6 and 18.
 */
const FORECAST_OFF: Readonly<Record<string, number>> = { 'coat0.thickness': 0.05, 'coat0.touched': 0.3 };

function forecastCovariance(names: readonly string[], matrix: readonly (readonly number[])[]) {
  // What an eye names fits the plain law, whose spread is as wide as the preset's.
  if (!names.includes('coat0.touched')) return { names: [...names], matrix: matrix.map((row) => [...row]) };
  // A film that was measured is known, what a pass takes of it is not.
  const all = [...new Set([...names, ...Object.keys(FORECAST_OFF)])];
  return {
    names: all,
    matrix: all.map((name, i) =>
      all.map((_, j) => (matrix[i]?.[j] ?? 0) + (i === j ? (FORECAST_OFF[name] ?? 0) ** 2 : 0)),
    ),
  };
}

/** Puts a fit into words and numbers, and its spread into the piece. */
export function tellFit(of: {
  piece: Piece;
  before: Piece;
  read: readonly { card: Card; reading: CardReading }[];
  free: readonly Parameter[];
  prior: number[][];
  measurements: readonly Measurement[];
  predicted: readonly number[];
  at: Float64Array;
  deviations: readonly number[];
  fit: FitResult;
}): CardFit {
  const { piece, before, read, free, prior, measurements, predicted, at, deviations, fit } = of;
  const n = free.length;
  const names = free.map(({ name }) => name);
  const off = measurements.map(({ measured }, i) => (measured - predicted[i]) / deviations[i]);
  const misfit = robustScale(off);
  // If measurements scatter more than thought, the numbers are less sure than thought.
  const more = (WIDENING * Math.max(1, misfit)) ** 2;
  const covariance = fit.covariance.slice(0, n).map((row) => row.slice(0, n).map((value) => value * more));
  const deviation = (i: number) => Math.sqrt(covariance[i][i]);
  const priorDeviation = (i: number) => Math.hypot(...prior[i]);
  const shifted = shiftPiece(piece, names, Array.from(at).slice(0, n));
  const rowOffset = read.map(({ reading }) => reading.rowOffset).find((offset) => offset !== null) ?? null;
  const spreadOf = (name: string, fallback: number) => {
    const i = names.indexOf(name);
    return i < 0 ? fallback : Math.min(2, deviation(i));
  };
  const fitted: Piece = {
    ...shifted,
    passes: rowOffset ? shifted.passes.map((pass) => ({ ...pass, rowOffsetErrorMm: rowOffset.mm })) : shifted.passes,
    certainty: {
      source: 'calibrated',
      threshold: spreadOf('coat0.threshold', before.certainty.threshold),
      specificEnergy: spreadOf('coat0.specificEnergy', before.certainty.specificEnergy),
      thickness: spreadOf('coat0.thickness', 0.02),
      // The card holds for the machine as it was that day; a source varies from day to day (estimate).
      power: Math.min(before.certainty.power, 0.02),
      covariance: n > 0 ? forecastCovariance(names, symmetric(covariance)) : null,
    },
  };
  return {
    piece: fitted,
    numbers: free.map((parameter, i) => {
      const value = parameter.get(shifted);
      return {
        name: parameter.name,
        words: parameter.words,
        unit: parameter.unit,
        before: parameter.get(before),
        value,
        low: value * Math.exp(-NINE_TENTHS * deviation(i)),
        high: value * Math.exp(NINE_TENTHS * deviation(i)),
        deviationBefore: priorDeviation(i),
        deviation: deviation(i),
      };
    }),
    residuals: measurements.map(({ what, measured }, i) => ({
      what,
      measured,
      fitted: predicted[i],
      off: off[i],
      counted: Math.min(1, fit.weights[i]),
    })),
    untold: untoldGroups(fit, prior, free),
    misfit,
    settled: fit.settled,
    rowOffsetMm: rowOffset,
  };
}

const symmetric = (matrix: number[][]): number[][] =>
  matrix.map((row, i) => row.map((value, j) => (i === j ? value : (value + matrix[j][i]) / 2)));

/** Standard deviation by the median, which a few misread patches do not move; at least half of its usual value. */
function robustScale(off: readonly number[]): number {
  if (off.length < 6) return 1;
  const sorted = off.map(Math.abs).sort((a, b) => a - b);
  return Math.max(0.5, sorted[Math.floor(sorted.length / 2)] / 0.6745);
}

/** What tells numbers apart that this card does not. */
const WOULD_TELL: readonly (readonly [RegExp, string])[] = [
  [/thickness/, 'measure the film (a gauge, or weigh the paint) and enter it as known'],
  [/spot/, 'the line card'],
  [/beamQuality/, 'the focus lines of the line card'],
  [/scorchOnset/, 'a step wedge that goes on to higher power'],
  [/touched/, 'a second-pass card, made once a first card has told the power that clears'],
  [/coat0\.threshold/, 'the second-pass card, or a swatch card with other feeds'],
  [/retainedHeat/, 'the large patch of a step wedge on scrap that has room for it, or a finished slab'],
  [/coat[1-9]/, 'a step wedge that goes on until the undercoat is through'],
  [/opticalDepth/, 'a step wedge that goes on past clearing'],
  [/scattering/, 'a step wedge with finer steps just below clearing'],
];

function untoldGroups(fit: FitResult, prior: number[][], free: readonly Parameter[]): CardFit['untold'] {
  return weakDirections(fit.information, prior)
    .map(({ parts }) => parts.filter(({ index }) => index < free.length).map(({ index }) => free[index]))
    .filter((group) => group.length > 0)
    .map((group) => {
      const text = group.map(({ words }) => words).join(', ');
      const helps = WOULD_TELL.find(([pattern]) => group.some(({ name }) => pattern.test(name)))?.[1] ?? 'another card';
      const words = group.length > 1 ? `cannot be told apart: ${text}` : `cannot be told: ${text}`;
      return { names: group.map(({ name }) => name), words: `${words}; what would: ${helps}` };
    });
}
