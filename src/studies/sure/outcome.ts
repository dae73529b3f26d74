import { CLEARED_SHARE, SCORCHED_SHARE } from '../../burn/clearing.ts';
import { DARK_AREA_LIGHTNESS } from './places.ts';
import { type BurnedSquare, type Sample, squareLightness } from './sample.ts';

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
export const isAccepted = ({ uncleared, scorched }: Pick<Outcome, 'uncleared' | 'scorched'>): boolean =>
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
