import type { Card, CardPatch } from '../../core/calibrate/cards/card.ts';
import { type FitResult, robustFit, weakDirections } from '../../core/calibrate/fit/robust-fit.ts';
import { type Parameter, parametersOf, shiftPiece } from '../../core/calibrate/parameters.ts';
import { type CardReading, ReadingError } from '../../core/calibrate/read/reading.ts';
import type { Piece } from '../../core/piece/schema.ts';
import { lowerTriangle } from '../../core/quality/correlated.ts';
import { checkReading } from './check-reading.ts';
import { firstPower } from './first-power.ts';
import { type CardOracle, createCardOracle, filmAt } from './predict-card.ts';

export interface FitWish {
  /** Numbers that are measured and stay as the piece has them, by name: a measured film above all. */
  readonly known: readonly string[];
  /** How far the law itself is off, L* (estimate; the finer model of the tests says about so). */
  readonly lawDeviation: number;
  /** How much thicker a film may get over half a card, share (estimate). */
  readonly tiltDeviation: number;
}
export const FIT_WISH: FitWish = { known: [], lawDeviation: 0.7, tiltDeviation: 0.03 };

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

interface Measurement {
  readonly what: string;
  readonly measured: number;
  readonly deviation: number;
  readonly predict: (piece: Piece, film: (box: CardPatch['box']) => number) => number;
}

/**
 * Fits a piece to what was read off cards burned on its stack and machine.
 * @throws ReadingError if a reading belongs to another card, tells nothing or contradicts itself.
 */
export function fitCards(
  piece: Piece,
  read: readonly { readonly card: Card; readonly reading: CardReading }[],
  wish: FitWish = FIT_WISH,
): CardFit {
  for (const { card, reading } of read) checkReading(card, reading);
  const oracle = createCardOracle(piece);
  const floored = withFloor(piece, read, oracle);
  const free = parametersOf(piece).filter(
    ({ name }) => name !== 'firingFloor' && !wish.known.includes(name) && tells(name, read, piece),
  );
  const prior = priorOf(floored, free, read.length, wish.tiltDeviation);
  const names = free.map(({ name }) => name);
  const measurements = read.flatMap(({ card, reading }) => measurementsOf(card, reading, oracle, wish.lawDeviation));
  if (measurements.length === 0 && read.every(({ reading }) => !reading.rowOffset)) {
    throw new ReadingError('the reading holds nothing to fit to');
  }
  const pieceAt = (at: ArrayLike<number>): Piece => shiftPiece(floored, names, Array.from(at).slice(0, names.length));
  const predictAll = (at: Float64Array): number[] => {
    const here = pieceAt(at);
    let from = names.length;
    return read.flatMap(({ card }, k) => {
      const tilt = { x: at[from], y: at[from + 1] };
      from += 2;
      return perCard[k].map(({ predict }) => predict(here, (box) => filmAt(card, box, tilt)));
    });
  };
  const perCard = read.map(({ card, reading }) => measurementsOf(card, reading, oracle, wish.lawDeviation));
  let at: Float64Array = new Float64Array(prior.mean);
  let deviations = spreadByFilm(measurements, pieceAt(at), floored);
  let fit: FitResult | null = null;
  // A film's unevenness makes a patch uncertain where its lightness hangs on the film; that changes with the fit.
  for (let round = 0; round < 3; round++) {
    const now = deviations;
    fit = robustFit({
      residuals: (place) =>
        Float64Array.from(predictAll(place), (value, i) => (measurements[i].measured - value) / now[i]),
      priorLower: prior.lower,
      priorMean: prior.mean,
    });
    at = fit.at;
    deviations = spreadByFilm(measurements, pieceAt(at), floored);
    if (Math.max(...deviations.map((value, i) => Math.abs(Math.log(value / now[i])))) < 0.1) break;
  }
  return tellFit({
    piece: floored,
    before: piece,
    read,
    free,
    prior: prior.lower,
    measurements,
    predicted: predictAll(at),
    at,
    deviations,
    fit: fit!,
  });
}

/** Whether a card can say anything of a number; what it cannot keeps its spread. */
function tells(name: string, read: readonly { card: Card; reading: CardReading }[], piece: Piece): boolean {
  const burns = read.flatMap(({ card }) => [
    ...card.patches.flatMap((patch) => patch.burns),
    ...card.lines.map(({ burn }) => burn),
  ]);
  const focus = new Set(burns.map(({ focusOffsetMm }) => focusOffsetMm));
  if (name === 'beamQuality') return focus.size > 1;
  if (name === 'retainedHeat') return piece.heat.carryOver;
  return true;
}

function priorOf(piece: Piece, free: readonly Parameter[], cards: number, tiltDeviation: number) {
  const n = free.length + 2 * cards;
  const matrix = Array.from({ length: n }, () => new Array<number>(n).fill(0));
  const kept = piece.certainty.source === 'calibrated' ? piece.certainty.covariance : null;
  free.forEach((parameter, i) => {
    matrix[i][i] = parameter.deviation(piece) ** 2;
    const row = kept?.names.indexOf(parameter.name) ?? -1;
    if (!kept || row < 0) return;
    free.forEach((other, j) => {
      const column = kept.names.indexOf(other.name);
      if (column >= 0) matrix[i][j] = kept.matrix[row][column];
    });
  });
  // Nothing is known beyond a thousandth; it also keeps the matrix whole.
  for (let i = 0; i < free.length; i++) matrix[i][i] = Math.max(matrix[i][i], 1e-6);
  for (let i = free.length; i < n; i++) matrix[i][i] = tiltDeviation ** 2;
  return { lower: lowerTriangle(matrix), mean: new Float64Array(n) };
}

function measurementsOf(card: Card, reading: CardReading, oracle: CardOracle, lawDeviation: number): Measurement[] {
  const patchOf = (id: string) => card.patches.find((patch) => patch.id === id)!;
  const colors = reading.patches.flatMap(({ id, lab, deviation }): Measurement[] => {
    const patch = patchOf(id);
    let last: { piece: Piece; film: number; lab: readonly number[] } | null = null;
    const at = (piece: Piece, film: number) => {
      if (last?.piece !== piece || last.film !== film)
        last = { piece, film, lab: oracle.patch(piece, patch, film).lab };
      return last.lab;
    };
    return ([0, 2] as const).map((k) => ({
      what: `patch ${id} ${k === 0 ? 'L*' : 'b*'}`,
      measured: lab[k],
      deviation: Math.hypot(deviation, lawDeviation),
      predict: (piece, film) => at(piece, film(patch.box))[k],
    }));
  });
  const firsts = reading.firsts.map(({ what, patch: id, lowPower, highPower }): Measurement => {
    const patch = patchOf(id);
    const low = Math.max(lowPower, 0.5 * highPower);
    return {
      what: `${what} (patch ${patch.label})`,
      measured: (Math.log(low) + Math.log(highPower)) / 2,
      // Anywhere between two patches, and an eye that is not sure itself (estimate).
      deviation: Math.hypot((Math.log(highPower) - Math.log(low)) / Math.sqrt(12), 0.02),
      predict: (piece, film) => Math.log(firstPower(piece, what, patch, oracle, film(patch.box))),
    };
  });
  const lines = reading.lines.map(({ id, measure, widthMm, deviation }): Measurement => {
    const line = card.lines.find((one) => one.id === id)!;
    return {
      what: `line ${id}`,
      measured: widthMm,
      deviation,
      predict: (piece, film) =>
        oracle.line(piece, line.burn, film(line.box))[measure === 'edge' ? 'edgeMm' : 'equivalentMm'],
    };
  });
  return [...colors, ...firsts, ...lines];
}

/** Deviations with what the film's slow unevenness adds to each. */
function spreadByFilm(measurements: readonly Measurement[], piece: Piece, nominal: Piece): number[] {
  const slow = nominal.stack.coats[0].slowVariation;
  if (slow === 0) return measurements.map(({ deviation }) => deviation);
  return measurements.map(({ deviation, predict }) => {
    const slope = (predict(piece, () => 1 + slow / 2) - predict(piece, () => 1 - slow / 2)) / slow;
    return Math.hypot(deviation, slope * slow);
  });
}

/**
 * A firing floor shows as patches that stay untouched although the one a step higher is well burned. It makes a jump that no slope tells:
 * the floor is put between the two.
 */
function withFloor(piece: Piece, read: readonly { card: Card; reading: CardReading }[], oracle: CardOracle): Piece {
  const { source } = piece.machine;
  let dark = 0;
  let lit = 1;
  let jump = false;
  for (const { card, reading } of read) {
    const intact = oracle.patch(piece, {
      burns: [{ ...card.marking, lightEndPower: 0, darkEndPower: 0 }],
      warmthPerShareK: [0],
    }).lab;
    for (const { names: ids } of card.ladders.map(({ patches }) => ({ names: patches }))) {
      for (let i = 0; i + 1 < ids.length; i++) {
        const [low, high] = [ids[i], ids[i + 1]].map((id) => reading.patches.find((one) => one.id === id));
        const [lowPatch, highPatch] = [ids[i], ids[i + 1]].map((id) => card.patches.find((one) => one.id === id)!);
        if (!low || !high || lowPatch.burns.length > 1 || lowPatch.burns[0].screen !== 'continuous') continue;
        const power = (patch: CardPatch) =>
          patch.burns[0].darkEndPower +
          (patch.burns[0].lightEndPower - patch.burns[0].darkEndPower) * patch.burns[0].lightness;
        if (Math.abs(low.lab[0] - intact[0]) < 2 && high.lab[0] - intact[0] > 12) {
          const wouldBe = oracle.patch(piece, lowPatch).lab[0] - intact[0];
          if (wouldBe < 6) continue;
          jump = true;
          dark = Math.max(dark, power(lowPatch));
          lit = Math.min(lit, power(highPatch));
        }
      }
    }
  }
  if (!jump || lit <= dark) return piece;
  return { ...piece, machine: { ...piece.machine, source: { ...source, firingFloor: (dark + lit) / 2 } } };
}

function tellFit(of: {
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
      covariance: n > 0 ? { names, matrix: symmetric(covariance) } : null,
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
  [/coat0\.threshold/, 'the second-pass card, or a swatch card with other feeds'],
  [/retainedHeat/, 'a finished slab: a card is too small to get warm'],
  [/coat[1-9]/, 'a step wedge that goes on until the undercoat is through'],
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
