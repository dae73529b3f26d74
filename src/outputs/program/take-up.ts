import { binsOf, countBins, inBins, lightThreshold, meanOver } from '../../burn/coarse.ts';
import { planPass, subCells } from '../../burn/plan.ts';
import { createPreparation, type Photo } from '../../burn/prepare.ts';
import type { SwathRunner } from '../../burn/runner.ts';
import { burnToneScale, type CoarseScene } from '../../burn/tone-scale.ts';
import { wattsAtLevel } from '../../physics/beam/gaussian.ts';
import { binWarmthK, meanWarmthsK, type Pause, passWarmth } from '../../physics/heat/warmth.ts';
import type { AppearanceTable } from '../../physics/material/appearance.ts';
import type { ScreenedPass } from '../../physics/raster/pass-raster.ts';
import { burnPlace, type PassCourse, passCourse } from '../../physics/raster/pass-time.ts';
import type { Piece } from '../../piece/schema.ts';
import type { RescueTools } from '../../studies/rescue/rescue-scene.ts';
import { createBedMap, onBed, zeroOnBed } from './frame.ts';
import { fromRowRefusals, JobRefused } from './refusals.ts';

const SECONDS_PER_MINUTE = 60;

/** Where a burn broke off: at a row, counted from 1; after so many minutes of the pass; or where the head stood, as the controller shows it. */
export type BrokeOff =
  | { readonly kind: 'row'; readonly row: number }
  | { readonly kind: 'minute'; readonly minute: number }
  | { readonly kind: 'place'; readonly xMm: number; readonly yMm: number };

/** A burn taken up from a row. */
export interface TakeUp {
  /** Row to go on from, counted from 1, of so many. */
  readonly row: number;
  readonly rows: number;
  /** How far the row lies from the picture's edge where the burn began, mm. */
  readonly fromEdgeMm: number;
  /** Ends of the row as it burns, in the program's positions, in the direction of travel, mm. */
  readonly from: readonly [number, number];
  readonly to: readonly [number, number];
  /** How long the pass has burned before this row and how long it still will, s. */
  readonly burnedS: number;
  readonly leftS: number;
  readonly pauseS: number;
  /** What the pause does to the rows after it. */
  readonly effect: PauseEffect;
}

/**
 * Finds the row from which a burn is taken up and what the pause does to the heat that rows leave for the next.
 * @throws JobRefused where no row is left there; Cancelled.
 */
export async function takeUp(
  piece: Piece,
  photo: Photo,
  index: number,
  at: BrokeOff,
  pauseS: number,
  { coarse, appearance, runner }: Pick<RescueTools, 'coarse' | 'appearance' | 'runner'>,
): Promise<TakeUp> {
  const { courses, screened } = burnCourse(piece, photo);
  const { raster, spans } = screened[index];
  const course = courses[index];
  const map = createBedMap(piece, raster);
  const [zeroX, zeroY] = zeroOnBed(piece);
  const wanted = () => {
    if (at.kind === 'row') return at.row - 1;
    if (at.kind === 'minute') return burnPlace([course], at.minute * SECONDS_PER_MINUTE).row;
    const [acrossX, acrossY] = map.across;
    const dots = (at.xMm + zeroX - map.origin[0]) * acrossX + (at.yMm + zeroY - map.origin[1]) * acrossY;
    return Math.floor(dots / (acrossX * acrossX + acrossY * acrossY));
  };
  const asked = wanted();
  const last = course.row.at(-1) ?? -1;
  const refusals = fromRowRefusals(piece, index, asked + 1, last + 1);
  if (refusals.length > 0) throw new JobRefused(refusals);
  // Rows that burn nothing are passed over.
  const i = course.row.findIndex((row) => row >= asked);
  const row = course.row[i];
  const place = (u: number): [number, number] => {
    const [x, y] = onBed(map, u, row + 0.5);
    return [x - zeroX, y - zeroY];
  };
  const ends = [place(spans.first[row]), place(spans.end[row])] as const;
  const [from, to] = spans.backwards[row] ? [ends[1], ends[0]] : ends;
  const burnedS = course.startS[i];
  const pause = { atS: burnedS, lengthS: pauseS };
  const effect = await pauseEffect(
    piece,
    index,
    pause,
    screened,
    coarse.scene(piece, photo),
    appearance(piece),
    runner,
  );
  return {
    row: row + 1,
    rows: raster.rows,
    fromEdgeMm: row * raster.pitchMm,
    from,
    to,
    burnedS,
    leftS: course.timeS - burnedS,
    pauseS,
    effect,
  };
}

const mm = (value: number): string => value.toFixed(1);

const minutes = (seconds: number): string =>
  seconds < 60 ? `${Math.round(seconds)} s` : `${Math.round(seconds / 60)} min`;

/** Which row a burn is taken up from, and what the pause does; sentences. */
export function takeUpSentences({ row, rows, fromEdgeMm, from, to, burnedS, leftS, pauseS, effect }: TakeUp): string[] {
  return [
    `Row ${row} of ${rows}, ${mm(fromEdgeMm)} mm from the edge where the burn began: it runs from X ${mm(from[0])} Y ${mm(from[1])} to X ${mm(to[0])} Y ${mm(to[1])} mm. ${minutes(burnedS)} of burning lie before it, ${minutes(leftS)} are left.`,
    pauseSentences(`A pause of ${minutes(pauseS)} before row ${row}`, effect),
  ];
}

/** What a stop in a pass does. */
export interface PauseEffect {
  /** How much colder the first rows after it start, K, and how far across the rows the difference is felt (half of it), mm. */
  readonly colderK: number;
  readonly reachMm: number;
  /** Share of the light areas that stays uncleared, 0–1: over the whole picture without and with it, and in rows as warm as those after it. */
  readonly before: number;
  readonly after: number;
  readonly justAfter: number;
  /** The same of rows as warm as they would be there without it. */
  readonly withoutThere: number;
}

/**
 * Heat that rows leave for the next (`warmth.ts`), with and without a stop, and what the tone scale makes of both. Where rows start cold there
 * is no difference.
 */
export async function pauseEffect(
  piece: Piece,
  index: number,
  pause: Pause,
  screened: readonly ScreenedPass[],
  scene: CoarseScene,
  appearance: AppearanceTable,
  runner: SwathRunner,
): Promise<PauseEffect> {
  const bins = binsOf(scene);
  const lightFrom = lightThreshold(piece);
  const lights = countBins(bins, (i) => scene.lightness[i] >= lightFrom);
  const unclearedAt = async (warmthsK: readonly number[]): Promise<number> => {
    const scale = await burnToneScale(piece, appearance, runner, warmthsK);
    return meanOver(inBins(scale, scale.uncleared), lights);
  };
  const pitchMm = piece.passes[0].rowPitchMm;
  const grid = { width: 1, height: 1, pitchMm, ...subCells(piece) };
  const jobs = piece.passes.map((pass) => planPass(piece, pass, grid));
  const mapOf = (i: number, pauses: readonly Pause[]) =>
    piece.heat.carryOver ? passWarmth(piece, i, jobs[i], screened[i], undefined, pauses) : null;
  const plain = piece.passes.map((_, i) => mapOf(i, []));
  const held = mapOf(index, [pause]);
  const warmths = meanWarmthsK(plain);
  const before = await unclearedAt(warmths);
  const map = plain[index];
  if (!map || !held) return { colderK: 0, reachMm: 0, before, after: before, justAfter: before, withoutThere: before };
  const { backwards } = screened[index].spans;
  const [plainK, heldK] = [map, held].map((one) => binWarmthK(one, backwards));
  const bandMean = (values: Float32Array, band: number): number => {
    let sum = 0;
    for (let direction = 0; direction < map.directions; direction++) {
      for (let bin = 0; bin < map.columns; bin++) sum += values[(direction * map.rows + band) * map.columns + bin];
    }
    return sum / (map.directions * map.columns);
  };
  let worst = 0;
  const colder = Array.from({ length: map.rows }, (_, band) => bandMean(plainK, band) - bandMean(heldK, band));
  colder.forEach((value, band) => {
    if (value > colder[worst]) worst = band;
  });
  const felt = colder.filter((value) => value > 0.5 * colder[worst]).length;
  const at = (warmthK: number) => unclearedAt(warmths.map((value, i) => (i === index ? warmthK : value)));
  return {
    colderK: colder[worst],
    reachMm: felt * map.rowsPerBin * screened[index].raster.pitchMm,
    before,
    after: await at(meanWarmthsK([held])[0]),
    justAfter: await at(bandMean(heldK, worst)),
    withoutThere: await at(bandMean(plainK, worst)),
  };
}

const percent = (share: number): string => `${(100 * share).toFixed(1)} %`;

/** What a stop does to the rows after it, in a few sentences that go on from its name. */
export function pauseSentences(
  stop: string,
  { colderK, reachMm, before, after, justAfter, withoutThere }: PauseEffect,
): string {
  if (colderK < 0.05)
    return `${stop} changes nothing: the rows before have given their heat away by then, or rows start cold anyway.`;
  const there = `the first rows after it start ${colderK.toFixed(1)} °C colder, over about ${reachMm.toFixed(0)} mm`;
  const local =
    justAfter - withoutThere < 0.0005
      ? 'Their light areas come out the same.'
      : `In their light areas ${percent(justAfter)} is left dark instead of ${percent(withoutThere)}.`;
  const whole =
    Math.abs(after - before) < 0.0005
      ? `Over the whole picture it stays at ${percent(before)}.`
      : `Over the whole picture it goes from ${percent(before)} to ${percent(after)}.`;
  return `${stop}: ${there}. ${local} ${whole}`;
}

/** All passes of a piece as they are travelled. */
export function burnCourse(
  piece: Piece,
  photo: Photo,
): { readonly courses: readonly PassCourse[]; readonly screened: readonly ScreenedPass[] } {
  const preparation = createPreparation();
  const { source, motion } = piece.machine;
  const screened = piece.passes.map((pass) => {
    return preparation.screen(photo, piece, pass, (level) => wattsAtLevel(source, pass, level) > 0);
  });
  const courses = screened.map(({ spans, raster }, i) => passCourse(spans, raster, piece.passes[i], motion));
  return { courses, screened };
}
