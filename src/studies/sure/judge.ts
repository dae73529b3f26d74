import { inLanes } from '../../base/in-lanes.ts';
import { breathe } from '../../base/stop.ts';
import { CLEARED_SHARE, SCORCHED_SHARE } from '../../burn/clearing.ts';
import type { ReadyPicture } from '../../burn/ready-picture.ts';
import type { SwathRunner } from '../../burn/runner.ts';
import type { Piece } from '../../piece/schema.ts';
import { type BurnedSquare, createSample, DARK_AREA_LIGHTNESS, type Sample, squareLightness } from './sample.ts';
import { drawPiece } from './spread.ts';

/** What becomes of a piece over all that paint, film and beam may truly be. */
export interface Judgement {
  readonly outcomes: readonly Outcome[];
  /** Shares of the draws whose light areas clear (null without any), that stay unscorched, and that a maker would take: both. */
  readonly clears: number | null;
  readonly unscorched: number;
  readonly accepted: number;
}

/**
 * The one that says what comes of a piece: verdict, findings, ladders, suggestions and rescue all ask it. It burns a sample of the picture
 * on the same draws every time, so that answers about different powers can be compared.
 */
export interface Judge {
  readonly sample: Sample;
  /** Whether any part of the picture is meant to come out clear. */
  readonly lit: boolean;
  readonly draws: number;
  /** One draw of a piece whose dots are those of the sample. @throws Cancelled if told to stop. */
  draw(piece: Piece, draw: number): Promise<Outcome>;
  /** All draws. @throws Cancelled if told to stop. */
  of(piece: Piece): Promise<Judgement>;
}

/** Draws that give a verdict. */
export const JUDGE_DRAWS = 40;

/** A judge with what it says of the piece it was made for. */
export interface Judged {
  readonly judge: Judge;
  readonly judgement: Judgement;
}

/** Judges a piece as it is. @throws Cancelled if told to stop. */
export async function judged(...given: Parameters<typeof createJudge>): Promise<Judged> {
  const judge = createJudge(...given);
  return { judge, judgement: await judge.of(given[0]) };
}

interface JudgeHooks {
  readonly signal?: AbortSignal;
  /** Called before each draw. */
  readonly onDraw?: () => void;
}

export function createJudge(
  piece: Piece,
  ready: ReadyPicture,
  runner: SwathRunner,
  draws: number,
  { signal, onDraw }: JudgeHooks = {},
): Judge {
  const sample = createSample(piece, ready, runner);
  const lit = sample.layout.places.some(({ speaks }) => speaks === 'light');
  const draw = async (of: Piece, number: number): Promise<Outcome> => {
    await breathe(signal);
    onDraw?.();
    return outcomeOf(sample, await sample.burn(drawPiece(of, number)));
  };
  return {
    sample,
    lit,
    draws,
    draw,
    async of(other) {
      return judgementOf(await inLanes(draws, runner.lanes, (i) => draw(other, i)), lit);
    },
  };
}

function judgementOf(outcomes: readonly Outcome[], lit: boolean): Judgement {
  const share = (test: (one: Outcome) => boolean) => outcomes.filter(test).length / Math.max(1, outcomes.length);
  return {
    outcomes,
    clears: lit ? share(({ uncleared }) => uncleared < CLEARED_SHARE) : null,
    unscorched: share(({ scorched }) => scorched < SCORCHED_SHARE),
    accepted: share(isAccepted),
  };
}

/** What a judge of fewer draws says: all ask the same ones first. */
export const firstDraws = ({ outcomes }: Judgement, lit: boolean, draws: number): Judgement =>
  judgementOf(outcomes.slice(0, draws), lit);

interface PowerFound {
  readonly power: number;
  readonly judgement: Judgement;
}

/** Steps by which the search goes on when all draws say otherwise than the few it went by. */
const MOST_RAISES = 5;

/** The least power, in steps of a hundredth, at which the light areas clear with the odds wished; null if not even full power does. */
export async function leastClearingPower(
  judge: Judge,
  now: Judgement,
  withPower: (power: number) => Piece,
  odds: number,
  from: number,
): Promise<PowerFound | null> {
  const first = Math.max(1, Math.ceil(100 * from - 1e-6));
  const found = await leastClearingStep(judge, now, (step) => withPower(step / 100), odds, first, 100);
  return found && { power: found.step / 100, judgement: found.judgement };
}

/**
 * The first of the steps `first` … `last`, each of which brings more energy than the one before, at which the light areas clear with the
 * odds wished; null if none does. The draws keep their order from easy to hard, so the search burns only those on which the odds hang;
 * all of them have the last word. `now`: the judgement at settings at which not all clear.
 */
export async function leastClearingStep(
  judge: Judge,
  now: Judgement,
  pieceAt: (step: number) => Piece,
  odds: number,
  first: number,
  last: number,
): Promise<{ readonly step: number; readonly judgement: Judgement } | null> {
  const hardest = now.outcomes
    .map(({ residueUm, uncleared }, draw) => ({ draw, hard: uncleared + 1e-3 * residueUm }))
    .sort((a, b) => b.hard - a.hard)
    .map(({ draw }) => draw);
  const decides = Math.min(hardest.length - 1, Math.floor((1 - odds) * hardest.length + 1e-9));
  const asked = hardest.slice(Math.max(0, decides - 1), decides + 2);
  const clears = async (step: number): Promise<boolean> => {
    const outcomes = await Promise.all(asked.map((draw) => judge.draw(pieceAt(step), draw)));
    return 2 * outcomes.filter(({ uncleared }) => uncleared < CLEARED_SHARE).length > asked.length;
  };
  let low = first;
  let high = last;
  if (low > high || !(await clears(high))) return null;
  while (low < high) {
    const middle = Math.floor((low + high) / 2);
    if (await clears(middle)) high = middle;
    else low = middle + 1;
  }
  let judgement = await judge.of(pieceAt(high));
  for (let raise = 0; raise < MOST_RAISES && (judgement.clears ?? 1) < odds && high < last; raise++) {
    high++;
    judgement = await judge.of(pieceAt(high));
  }
  return { step: high, judgement };
}

/** What becomes of a picture, told by its sample. Shares 0–1. */
export interface Outcome {
  /** Of the dots that the light areas have at the light end: share uncleared, residue of the topmost coat on average. */
  readonly uncleared: number;
  readonly residueUm: number;
  /** Share of the picture that is scorched. */
  readonly scorched: number;
  /** Mean lightness of the light areas, L*, and how much it varies from square to square besides what the picture's own tones do (standard deviation). */
  readonly lightL: number;
  readonly blotch: number;
  /** Mean lightness between the light and the dark areas, L*; null without such places. */
  readonly middleL: number | null;
  /** Mean colour of the light areas and of the dark ones, linear sRGB; null without any. */
  readonly lightRgb: readonly number[] | null;
  readonly darkRgb: readonly number[] | null;
}

/** Whether a maker would take it: the light areas are clear and the undercoat is not scorched. The one measure of every odds in the house. */
const isAccepted = ({ uncleared, scorched }: Pick<Outcome, 'uncleared' | 'scorched'>): boolean =>
  uncleared < CLEARED_SHARE && scorched < SCORCHED_SHARE;

export function outcomeOf({ layout }: Pick<Sample, 'layout'>, squares: readonly BurnedSquare[]): Outcome {
  const of = (speaks: string) =>
    layout.places.flatMap(({ speaks: kind, weight }, i) => (kind === speaks ? [{ ...squares[i], weight }] : []));
  const [light, dark, all] = [of('light'), of('dark'), of('all')];
  const open = sum(light, ({ weight, open: cells }) => weight * cells);
  const per = open > 0 ? 1 / open : 0;
  const cells = sum(all, ({ weight, cells: count }) => weight * count);
  const middle = all.filter(({ tone }) => tone > 2 * DARK_AREA_LIGHTNESS && tone < 0.8);
  return {
    uncleared: per * sum(light, ({ weight, uncleared }) => weight * uncleared),
    residueUm: per * sum(light, ({ weight, residueUm }) => weight * residueUm),
    scorched:
      cells > 0 ? sum(all, ({ weight, cells: count, scorched }) => (count > 0 ? weight * scorched : 0)) / cells : 0,
    lightL: light.length > 0 ? sum(light, squareLightness) / light.length : 0,
    blotch: unevenness(light),
    middleL: middle.length > 0 ? sum(middle, squareLightness) / middle.length : null,
    lightRgb: meanRgb(light),
    darkRgb: meanRgb(dark),
  };
}

const sum = <Value>(values: readonly Value[], of: (value: Value) => number): number =>
  values.reduce((total, value) => total + of(value), 0);

const meanRgb = (squares: readonly BurnedSquare[]): number[] | null =>
  squares.length === 0 ? null : [0, 1, 2].map((k) => sum(squares, ({ rgb }) => rgb[k]) / squares.length);

/** Standard deviation of L* about a straight line over tone. */
function unevenness(squares: readonly BurnedSquare[]): number {
  const n = squares.length;
  if (n < 3) return 0;
  const [meanTone, meanL] = [sum(squares, ({ tone }) => tone) / n, sum(squares, squareLightness) / n];
  const varies = sum(squares, ({ tone }) => (tone - meanTone) ** 2);
  const slope =
    varies > 1e-9 ? sum(squares, (one) => (one.tone - meanTone) * (squareLightness(one) - meanL)) / varies : 0;
  return Math.sqrt(sum(squares, (one) => (squareLightness(one) - meanL - slope * (one.tone - meanTone)) ** 2) / n);
}
