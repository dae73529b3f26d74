import { CLEARED_RESIDUE_UM, CLEARED_SHARE, LIGHT_AREA_LIGHTNESS, SCORCHED_SHARE } from '../../../src/burn/clearing.ts';
import { createCoarsePipeline } from '../../../src/burn/coarse.ts';
import { createProofPipeline } from '../../../src/burn/proof.ts';
import type { SwathRunner } from '../../../src/burn/runner.ts';
import type { Piece } from '../../../src/piece/schema.ts';
import { check, choose } from '../../../src/studies/choose/choose.ts';
import { EVEN_WISHES, WANTED_ODDS } from '../../../src/studies/choose/odds.ts';
import { withSettings } from '../../../src/studies/choose/settings.ts';
import { withDrawnFilm } from '../../../src/studies/sure/spread.ts';
import { burn } from '../../helpers/burn.ts';
import { labOfSum } from '../../reference/finer-model/optics.ts';
import type { Workshop } from '../../reference/finer-model/workshop.ts';
import { PICTURE_AT } from './blind-trial.ts';
import { lookAt } from './burn-card.ts';
import type { TestPicture } from './pictures.ts';

/** What came of a suggestion in the world. */
export interface Kept {
  readonly picture: string;
  /** The lesser of the odds that were promised for clear and for unscorched. */
  readonly promised: number;
  readonly clear: boolean;
  readonly unscorched: boolean;
  readonly unclearedShare: number | null;
  readonly scorchedShare: number;
}

export interface Suggested {
  readonly kept: readonly Kept[];
  /** Why nothing was suggested, by picture. */
  readonly obstacles: Readonly<Record<string, string>>;
}

/** A place counts as scorched where it is so much darker than its residue makes it, L*. */
const SCORCHED_L = 3;
/** Dots of the light end: set to nearly its power. */
const LIGHT_END = 0.98;

/** Looks for settings as a maker of that workshop would with the fitted piece, and burns in the world what is promised to hold. */
export async function suggestionsHold(
  workshop: Workshop,
  piece: Piece,
  tests: readonly TestPicture[],
  widthMm: number,
  runner: SwathRunner,
): Promise<Suggested> {
  const kept: Kept[] = [];
  const obstacles: Record<string, string> = {};
  for (const { name, picture } of tests) {
    const of: Piece = { ...piece, picture: { ...piece.picture, widthMm } };
    const photo = { key: `suggested ${name}`, picture, castless: null };
    const { scene } = createCoarsePipeline();
    const appearance = createProofPipeline().appearance(of);
    const found = await choose(
      { piece: of, scene: scene(withDrawnFilm(of, 0), photo), appearance, wishes: EVEN_WISHES },
      runner,
    );
    const { suggestions, obstacle } = await check({ piece: of, photo, scene: scene(of, photo) }, found, runner);
    if (obstacle) obstacles[name] = obstacle;
    for (const { pass, curve, odds } of suggestions) {
      const promised = odds?.least ?? 0;
      // The worlds know neither focus nor rows that run another way.
      if (promised < WANTED_ODDS || pass.focusOffsetMm !== 0 || pass.headingRad !== 0) continue;
      kept.push({
        picture: name,
        promised,
        ...(await burned(workshop, withSettings(of, pass, curve), picture, runner)),
      });
    }
  }
  return { kept, obstacles };
}

async function burned(workshop: Workshop, piece: Piece, picture: TestPicture['picture'], runner: SwathRunner) {
  const { proof } = await burn(piece, picture, runner);
  const { width, height, pitchMm } = proof.grid;
  const [{ levels, mask }] = proof.screened;
  const [{ lightEndPower, darkEndPower, feedMmPerS }] = piece.passes;
  const power = Float32Array.from(levels, (level, i) => {
    const set = darkEndPower + ((lightEndPower - darkEndPower) * level) / 255;
    return mask[i] === 0 || set < piece.machine.source.firingFloor ? 0 : set;
  });
  const { xyz, residueUm } = workshop.picture(width, height, pitchMm, [{ power, feedMmPerS }], PICTURE_AT);
  let [lights, uncleared, scorched] = [0, 0, 0];
  for (let i = 0; i < power.length; i++) {
    const meant = lookAt(workshop, residueUm[i])[0];
    if (meant - labOfSum(xyz.subarray(3 * i, 3 * i + 3))[0] > SCORCHED_L) scorched++;
    if (proof.tone.lightness[i] < LIGHT_AREA_LIGHTNESS || power[i] < LIGHT_END * lightEndPower) continue;
    lights++;
    if (residueUm[i] > CLEARED_RESIDUE_UM) uncleared++;
  }
  const unclearedShare = lights > 0 ? uncleared / lights : null;
  const scorchedShare = scorched / power.length;
  return {
    unclearedShare,
    scorchedShare,
    clear: unclearedShare === null || unclearedShare < CLEARED_SHARE,
    unscorched: scorchedShare < SCORCHED_SHARE,
  };
}
