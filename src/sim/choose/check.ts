import { Cancelled } from '../../core/cancelled.ts';
import { type Checked, type ChooseResult, type Suggestion, withSettings } from '../../core/choose/suggestion.ts';
import type { Piece } from '../../core/piece/schema.ts';
import type { Photo } from '../prepare.ts';
import { createProofPipeline } from '../proof.ts';
import type { StripRunner } from '../runner.ts';
import type { ChooseHooks } from './choose.ts';
import { FINISH_SHARE } from './finish.ts';

/** Bands of the picture that are burned at full resolution, over its whole width. */
const BANDS = 4;
/** Cells that a suggestion is checked on at most, so that large pictures do not take minutes; smaller ones are burned whole. */
const MOST_CELLS = 700_000;

/**
 * Proves each suggestion on the picture itself: dots, rows, film and heat of the full proof. Minutes and rows are those of the whole; what
 * clears and scorches is burned on all of a small picture, on bands spread over a large one.
 * @throws Cancelled.
 */
export async function check(
  piece: Piece,
  photo: Photo,
  result: ChooseResult,
  runner: StripRunner,
  hooks: ChooseHooks = {},
): Promise<ChooseResult> {
  const all = result.nearest ? [result.nearest] : result.suggestions;
  const checked: Suggestion[] = [...all];
  const now = (final: boolean): ChooseResult =>
    result.nearest ? { ...result, nearest: checked[0], final } : { ...result, suggestions: [...checked], final };
  for (const [i, suggestion] of all.entries()) {
    const report = (share: number) =>
      hooks.onProgress?.(FINISH_SHARE + ((1 - FINISH_SHARE) * (i + share)) / all.length, 'proof');
    report(0);
    const proof = await checkedOn(withSettings(piece, suggestion.pass, suggestion.curve), photo, runner, hooks, report);
    checked[i] = { ...suggestion, checked: proof };
    hooks.onPartial?.(now(false));
  }
  return now(true);
}

async function checkedOn(
  piece: Piece,
  photo: Photo,
  runner: StripRunner,
  { shouldStop = () => false, breathe }: ChooseHooks,
  onShare: (share: number) => void,
): Promise<Checked> {
  // One of its own for each: pictures at other pitches would only fill the memory.
  const pipeline = createProofPipeline();
  const prepared = pipeline.prepared(piece, photo);
  const pitchMm = piece.passes[0].rowPitchMm;
  const [widthMm, heightMm] = [prepared.width * pitchMm, prepared.height * pitchMm];
  const share = Math.min(1, MOST_CELLS / (prepared.width * prepared.height));
  const bands = share < 1 ? BANDS : 1;
  const bandMm = (share * heightMm) / bands;
  const sum = { picture: 0, light: 0, uncleared: 0, scorched: 0, rows: 0, minutes: 0 };
  for (let band = 0; band < bands; band++) {
    if (shouldStop()) throw new Cancelled();
    const yMm = ((band + 0.5) * heightMm) / bands - bandMm / 2;
    const { summary, grid } = await pipeline.crop(
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
