import { CLEARED_SHARE, LIGHT_AREA_LIGHTNESS } from '../../burn/clearing.ts';
import type { ToneScale } from '../../burn/tone-scale.ts';
import { fitRising } from '../../image/repair/rising-fit.ts';
import { adjustedLightness } from '../../image/tone.ts';
import { NEUTRAL_TONE } from '../../piece/defaults.ts';
import type { Pass, Piece, Tone } from '../../piece/schema.ts';
import { patchShares } from './patch-shares.ts';
import { patchLightness, type RescueScene } from './rescue-scene.ts';
import { withPass } from './try-powers.ts';

const HALVINGS = 7;

/**
 * Tones of its own for a further pass in continuous tone: what a first pass left too dark in between follows the power, so the same
 * tones again would lift the light end only. Each step gets what brings it to the lightness it would have had if the first pass had
 * just cleared. Null for dots: they must fall on those of the first pass. @throws Cancelled if told to stop.
 */
export async function fitPassTone(scene: RescueScene, piece: Piece, pass: Pass): Promise<Tone | null> {
  if (pass.screen !== 'continuous') return null;
  const wanted = middleLightness(await enoughAtOnce(scene, piece));
  const last = wanted.length - 1;
  const toned = (values: readonly number[]): Tone => ({
    ...NEUTRAL_TONE,
    curve: values.map((value, i): [number, number] => [i / last, Math.min(1, Math.max(0, value))]),
  });
  let low = wanted.map(() => 0);
  let high = wanted.map(() => 1);
  for (let halving = 0; halving < HALVINGS; halving++) {
    const middle = low.map((value, i) => (value + high[i]) / 2);
    const reached = middleLightness(await scene.burn(withPass(piece, { ...pass, tone: toned(middle) }), 'fine'));
    low = low.map((value, i) => (reached[i] < wanted[i] ? middle[i] : value));
    high = high.map((value, i) => (reached[i] < wanted[i] ? value : middle[i]));
  }
  const burned = adjustedLightness(piece.picture.tone);
  // What is meant to be clear gets all the power that was chosen for it.
  const lit = low.map((value, i) => (burned(i / last) >= LIGHT_AREA_LIGHTNESS ? 1 : value));
  return toned(fitRising(lit));
}

/** The piece burned in one pass that just clears, everything else as in its first. */
async function enoughAtOnce(scene: RescueScene, piece: Piece): Promise<ToneScale> {
  const [first] = piece.passes;
  const at = (power: number) => scene.burn({ ...piece, passes: [{ ...first, lightEndPower: power }] }, 'fine');
  let [low, high] = [first.lightEndPower, 1];
  for (let halving = 0; halving < HALVINGS; halving++) {
    const middle = (low + high) / 2;
    if (patchShares(scene, await at(middle)).uncleared < CLEARED_SHARE) high = middle;
    else low = middle;
  }
  return at(high);
}

/** L* per tone on the film that is as thick as the mean. */
function middleLightness(scale: ToneScale): number[] {
  const film = scale.films.findIndex((share) => share >= 1 - 1e-9);
  return scale.tones.map((_, tone) => patchLightness(scale, film * scale.tones.length + tone));
}
