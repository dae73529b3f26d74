import { Cancelled } from '../../core/cancelled.ts';
import { type Checked, type ChooseResult, type Suggestion, withSettings } from '../../core/choose/suggestion.ts';
import type { AppearanceTable } from '../../core/material/appearance.ts';
import type { Piece } from '../../core/piece/schema.ts';
import { burnCrop, type CropStages } from '../crop-proof.ts';
import { subCells } from '../plan.ts';
import { createPreparation, type Photo, pictureDots } from '../prepare.ts';
import type { StripRunner } from '../runner.ts';
import type { ChooseHooks } from './choose.ts';
import { FINISH_SHARE } from './finish.ts';

/** Bands of the picture that are burned at full resolution, over its whole width. */
const BANDS = 4;
/** Cells that a suggestion is checked on at most, so that large pictures do not take minutes; smaller ones are burned whole. */
const MOST_CELLS = 700_000;

/** Suggestions under way at once: while one burns the next is prepared. One after the other where their dots would fill the memory. */
const LANES = 2;
const MOST_DOTS_AT_ONCE = 6e6;

/** What the suggestions are for. */
export interface CheckRequest {
  readonly piece: Piece;
  readonly photo: Photo;
  /** Of the piece's stack, which is that of every suggestion. */
  readonly appearance: AppearanceTable;
}

/**
 * Proves each suggestion on the picture itself: dots, rows, film and heat of the full proof. Minutes and rows are those of the whole; what
 * clears and scorches is burned on all of a small picture, on bands spread over a large one.
 * @throws Cancelled.
 */
export async function check(
  request: CheckRequest,
  result: ChooseResult,
  runner: StripRunner,
  hooks: ChooseHooks = {},
): Promise<ChooseResult> {
  const { piece, photo } = request;
  const all = result.nearest ? [result.nearest] : result.suggestions;
  const checked: Suggestion[] = [...all];
  const now = (final: boolean): ChooseResult =>
    result.nearest ? { ...result, nearest: checked[0], final } : { ...result, suggestions: [...checked], final };
  const shares = all.map(() => 0);
  const report = (i: number, share: number) => {
    shares[i] = share;
    const done = shares.reduce((sum, one) => sum + one, 0) / all.length;
    hooks.onProgress?.(FINISH_SHARE + (1 - FINISH_SHARE) * done, 'proof');
  };
  let next = 0;
  const lane = async (): Promise<void> => {
    while (next < all.length) {
      const i = next;
      next++;
      report(i, 0);
      const { pass, curve } = all[i];
      const set = { ...request, piece: withSettings(piece, pass, curve) };
      checked[i] = { ...all[i], checked: await checkedOn(set, runner, hooks, (share) => report(i, share)) };
      hooks.onPartial?.(now(false));
    }
  };
  const most = Math.max(...all.map(({ pass }) => dotsOf(pictureDots(piece, photo.picture, pass.rowPitchMm))));
  await Promise.all(Array.from({ length: most > MOST_DOTS_AT_ONCE ? 1 : LANES }, lane));
  return now(true);
}

const dotsOf = ({ width, height }: { width: number; height: number }): number => width * height;

async function checkedOn(
  { piece, photo, appearance }: CheckRequest,
  runner: StripRunner,
  { shouldStop = () => false, breathe }: ChooseHooks,
  onShare: (share: number) => void,
): Promise<Checked> {
  // One of its own for each: pictures at other pitches would only fill the memory.
  const preparation = createPreparation(shouldStop);
  const stages: CropStages = { preparation, appearance: () => appearance, subCells, inBetween: (_, make) => make() };
  const pitchMm = piece.passes[0].rowPitchMm;
  const { width, height } = pictureDots(piece, photo.picture, pitchMm);
  const [widthMm, heightMm] = [width * pitchMm, height * pitchMm];
  const share = Math.min(1, MOST_CELLS / (width * height));
  const bands = share < 1 ? BANDS : 1;
  const bandMm = (share * heightMm) / bands;
  const sum = { picture: 0, light: 0, uncleared: 0, scorched: 0, rows: 0, minutes: 0 };
  for (let band = 0; band < bands; band++) {
    if (shouldStop()) throw new Cancelled();
    const yMm = ((band + 0.5) * heightMm) / bands - bandMm / 2;
    const { summary, grid } = await burnCrop(
      stages,
      {
        piece,
        photo,
        crop: { xMm: 0, yMm, widthMm, heightMm: bandMm },
        collect: { surface: false, fields: false, painted: false },
      },
      breathing(runner, breathe),
      { shouldStop, breathe },
    );
    const cells = grid.width * grid.height;
    sum.picture += cells;
    sum.light += summary.lightShare * cells;
    sum.uncleared += summary.unclearedShare * summary.lightShare * cells;
    sum.scorched += summary.scorchedShare * cells;
    sum.rows = summary.rows;
    sum.minutes = summary.burnTimeS / 60;
    onShare((band + 1) / bands);
  }
  return {
    minutes: sum.minutes,
    rows: sum.rows,
    unclearedShare: sum.light > 0 ? sum.uncleared / sum.light : null,
    scorchedShare: sum.picture > 0 ? sum.scorched / sum.picture : 0,
    burnedShare: share,
  };
}

/** Lets messages come in between strips. */
const breathing = (runner: StripRunner, breathe: ChooseHooks['breathe']): StripRunner =>
  breathe
    ? {
        ...runner,
        async run(task) {
          await breathe();
          return runner.run(task);
        },
      }
    : runner;
