import type { ToneImage } from '../image/picture.ts';
import { powerWarmth } from '../physics/heat/power-warmth.ts';
import type { RasterPart, Warmer, WarmthMap } from '../physics/heat/warmth.ts';
import type { AppearanceTable } from '../physics/material/appearance.ts';
import type { ScreenedPass } from '../physics/raster/pass-raster.ts';
import { type PassTime, passTime } from '../physics/raster/pass-time.ts';
import type { Piece } from '../piece/schema.ts';
import { evenPower } from './even-power.ts';
import type { SearchHooks } from './fine-dots.ts';
import { planJob, type SubCells } from './plan.ts';
import { directionOf, type Photo, type Preparation } from './prepare.ts';
import type { CellGrid } from './swath.ts';
import type { SwathCollect, SwathJob } from './swath-task.ts';

/** A picture that is ready to burn: its tones, its dots pass by pass, how long they take and how warm each pass finds the work (null: cold). */
export interface ReadyPicture {
  readonly tone: ToneImage;
  readonly screened: readonly ScreenedPass[];
  readonly passes: readonly PassTime[];
  readonly warmths: readonly (WarmthMap | null)[];
  readonly direction: 'lightens' | 'darkens';
  readonly appearance: AppearanceTable;
}

/** The same with the cells of the whole picture and the job that burns them. */
export interface PlannedPicture extends ReadyPicture {
  readonly whole: CellGrid;
  readonly job: SwathJob;
}

/** What the stages before the burn are taken from. */
export interface PictureStages {
  readonly preparation: Preparation;
  appearance(piece: Piece): AppearanceTable;
  subCells(piece: Piece): SubCells;
}

export interface ReadyHooks {
  /** Runs a stage by its name; may wait before it, and throw to stop. */
  readonly stage: <Value>(name: string, make: () => Value | Promise<Value>) => Promise<Value>;
  /** The picture as the first pass burns it and its cells, before anything is screened. */
  readonly onTone?: (tone: ToneImage, whole: CellGrid) => void;
  /** Searches a pass's dots: with a runner's workers, and told how far it is. */
  readonly search?: SearchHooks;
  /** Works out heat by parts; here where it is left out. */
  readonly warmer?: Warmer;
  /** What of a pass's raster the heat is wanted of; all of it where left out. */
  readonly heatIn?: (pass: ScreenedPass, whole: CellGrid) => RasterPart;
}

/** All of a proof but the burn. Throws what `stage` throws; RangeError for a piece that cannot be burned. */
export async function readyPicture(
  { preparation, appearance: tableOf, subCells }: PictureStages,
  { piece, photo, collect }: { readonly piece: Piece; readonly photo: Photo; readonly collect: SwathCollect },
  { stage, search = {}, warmer, onTone, heatIn }: ReadyHooks,
): Promise<PlannedPicture> {
  const appearance = await stage('colour', () => tableOf(piece));
  const pitchMm = piece.passes[0].rowPitchMm;
  const tone = await stage('tones', () => preparation.tone(photo, piece, pitchMm, piece.picture.tone));
  const whole = { width: tone.width, height: tone.height, pitchMm, ...subCells(piece) };
  onTone?.(tone, whole);
  const planned = planJob(piece, appearance, whole, null, collect);
  const screened: ScreenedPass[] = [];
  for (const [i, pass] of piece.passes.entries()) {
    const fires = (level: number) => planned.passes[i].wattsAt[level] > 0;
    await preparation.search(photo, piece, pass, search);
    const dots = await stage('screen', () => preparation.screen(photo, piece, pass, fires));
    const even = () => evenPower(piece, i, planned.passes[i], whole, dots, warmer);
    screened.push(pass.evenPower ? await stage('heat', even) : dots);
  }
  const warmths: (WarmthMap | null)[] = [];
  for (const [i, pass] of screened.entries()) {
    const heat = () => powerWarmth(piece, i, planned.passes[i], pass, heatIn?.(pass, whole), warmer);
    warmths.push(piece.heat.carryOver ? await stage('heat', heat) : null);
  }
  return {
    tone,
    whole,
    screened,
    warmths,
    passes: screened.map(({ spans, raster }, i) =>
      passTime(spans, raster.pitchMm, piece.passes[i], piece.machine.motion),
    ),
    job: { ...planned, passes: planned.passes.map((pass, i) => ({ ...pass, warmth: warmths[i] })) },
    direction: directionOf(piece),
    appearance,
  };
}
