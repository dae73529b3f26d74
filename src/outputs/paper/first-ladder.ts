import { colorDifference, type Lab, linearRgbToLab } from '../../base/color/lab.ts';
import type { ReadyPicture } from '../../burn/ready-picture.ts';
import type { SwathRunner } from '../../burn/runner.ts';
import { intactRgb } from '../../physics/material/appearance.ts';
import type { Piece } from '../../piece/schema.ts';
import { JUST_SHOWS, PLAINLY_SHOWS } from '../../studies/sure/how-sure.ts';
import { createJudge, JUDGE_DRAWS } from '../../studies/sure/judge.ts';
import type { LadderRung } from './bench-sheet.ts';

/** Shares of the light end's power; each rung is rounded to whole per cent of full power. */
const SHARES = [0.4, 0.55, 0.7, 0.85, 1, 1.15];

/**
 * Powers to try on scrap before the first pass, from the weakest up, with what the first pass would do to the light areas at each: the judge's
 * answer, burned with the picture's own dots. Empty for a picture without light areas and for stacks that darken where they are burned.
 * @throws Cancelled.
 */
export async function firstLadder(
  piece: Piece,
  ready: ReadyPicture,
  runner: SwathRunner,
  signal?: AbortSignal,
): Promise<LadderRung[]> {
  const [first] = piece.passes;
  const withPower = (lightEndPower: number): Piece => ({ ...piece, passes: [{ ...first, lightEndPower }] });
  const judge = createJudge(withPower(first.lightEndPower), ready, runner, JUDGE_DRAWS, { signal });
  if (!judge.lit) return [];
  const intact = labOf(intactRgb(ready.appearance, piece.stack));
  const powers = SHARES.map((share) => Math.min(1, Math.round(100 * share * first.lightEndPower) / 100));
  const rungs: LadderRung[] = [];
  for (const power of new Set(powers)) {
    const { outcomes, clears, unscorched } = await judge.of(withPower(power));
    const changes = outcomes.map(({ lightRgb }) => (lightRgb ? colorDifference(labOf(lightRgb), intact) : 0));
    const change = changes.toSorted((a, b) => a - b)[outcomes.length >> 1];
    rungs.push({ power, words: wordsFor(change, clears ?? 0, 1 - unscorched) });
  }
  return rungs;
}

const labOf = ([r, g, b]: ArrayLike<number> & Iterable<number>): Lab => linearRgbToLab([r, g, b]);

function wordsFor(change: number, cleared: number, scorched: number): string {
  const scorch = scorched >= 0.5 ? ', and scorches' : scorched > 0.1 ? ', and may scorch' : '';
  if (cleared >= 0.95) return `clears${scorch}`;
  if (cleared > 0.05) return `clears in ${Math.round(10 * cleared)} of 10 cases${scorch}`;
  if (change < JUST_SHOWS) return 'nothing one can see';
  if (change < PLAINLY_SHOWS) return 'only just shows';
  return `opens, still dark in places${scorch}`;
}
