import { lightThreshold } from '../../burn/coarse.ts';
import type { CoarseScene } from '../../burn/coarse-scene.ts';
import { planPass, subCells } from '../../burn/plan.ts';
import type { StripRunner } from '../../burn/runner.ts';
import { binsOf, countBins, inBins, meanOver } from '../../burn/scene-bins.ts';
import { burnToneScale } from '../../burn/tone-scale.ts';
import { binWarmthK, meanWarmthsK, type Pause, passWarmth } from '../../physics/heat/warmth.ts';
import type { AppearanceTable } from '../../physics/material/appearance.ts';
import type { ScreenedPass } from '../../physics/raster/pass-raster.ts';
import type { Piece } from '../../piece/schema.ts';

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
  runner: StripRunner,
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
