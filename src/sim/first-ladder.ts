import { Cancelled } from '../core/cancelled.ts';
import { colorDifference, linearRgbToLab } from '../core/color/lab.ts';
import type { AppearanceTable } from '../core/material/appearance.ts';
import type { LadderRung } from '../core/paper/bench-sheet.ts';
import type { Lab, Piece } from '../core/piece/schema.ts';
import { drawPiece } from '../core/quality/spread.ts';
import { CLEARED_SHARE } from './how-sure.ts';
import type { StripRunner } from './runner.ts';
import { burnToneScale } from './tone-scale.ts';

/** Shares of the light end's power; each rung is rounded to whole per cent of full power. */
const SHARES = [0.4, 0.55, 0.7, 0.85, 1, 1.15];
const DRAWS = 8;
const PATCHES = { tones: 2, films: [0.85, 1, 1.15], patchDots: 8 };
/** Colour differences that just show and that nobody overlooks, ΔE00. */
const JUST_SHOWS = 1;
const SHOWS = 3;

/**
 * Powers to try on scrap before the first pass, from the weakest up, with what the first pass would do to a light area at each, tried on
 * pieces as they may truly be. For stacks that lighten where they are burned.
 * @throws Cancelled.
 */
export async function firstLadder(
  piece: Piece,
  appearance: AppearanceTable,
  runner: StripRunner,
  shouldStop: () => boolean = () => false,
): Promise<LadderRung[]> {
  const [first] = piece.passes;
  const powers = SHARES.map((share) => Math.min(1, Math.round(100 * share * first.lightEndPower) / 100));
  const rungs: LadderRung[] = [];
  for (const power of new Set(powers)) {
    const changes: number[] = [];
    let cleared = 0;
    let scorched = 0;
    for (let draw = 0; draw < DRAWS; draw++) {
      if (shouldStop()) throw new Cancelled();
      const tried = { ...drawPiece(piece, draw), passes: [{ ...first, lightEndPower: power, tone: null, only: null }] };
      const scale = await burnToneScale(tried, appearance, runner, [], PATCHES);
      // The lightest tone of each film; the middle film is as thick as planned.
      const light = PATCHES.films.map((_, film) => film * scale.tones.length + scale.tones.length - 1);
      changes.push(colorDifference(labAt(scale.rgb, light[1]), labAt(scale.intact, 0)));
      if (light.every((at) => scale.uncleared[at] < CLEARED_SHARE)) cleared++;
      if (scale.scorchedShare[light[1]] > 0.5) scorched++;
    }
    const change = changes.toSorted((a, b) => a - b)[DRAWS / 2];
    rungs.push({ power, words: wordsFor(change, cleared / DRAWS, scorched / DRAWS) });
  }
  return rungs;
}

const labAt = (rgb: ArrayLike<number>, at: number): Lab =>
  linearRgbToLab([rgb[3 * at], rgb[3 * at + 1], rgb[3 * at + 2]]);

function wordsFor(change: number, cleared: number, scorched: number): string {
  const scorch = scorched >= 0.5 ? ', and scorches' : scorched > 0.1 ? ', and may scorch' : '';
  if (cleared >= 0.95) return `clears${scorch}`;
  if (cleared > 0.05) return `clears in ${Math.round(10 * cleared)} of 10 cases${scorch}`;
  if (change < JUST_SHOWS) return 'nothing one can see';
  if (change < SHOWS) return 'only just shows';
  return `opens, still dark in places${scorch}`;
}
