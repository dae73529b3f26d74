import { luminanceOf } from '../../core/color/luminance.ts';
import { luminanceToLightness } from '../../core/image/lightness.ts';
import { filmPlaceOfBin, inBins, meanOver, SCENE_BINS } from '../scene-bins.ts';
import { type ToneScale, toneScaleAt } from '../tone-scale.ts';
import { patchLightness, type RescueScene } from './rescue-scene.ts';

/** What a maker would see of a burned piece, as numbers. Shares 0–1. */
export interface Outcome {
  /** Of the light areas: share uncleared, residue of the topmost coat on average. */
  readonly uncleared: number;
  readonly residueUm: number;
  /** Share of the picture that is scorched. */
  readonly scorched: number;
  /**
   * Full light over the light areas' films: how far it has come in L* from the unburned stack to the thinnest film's or the
   * undercoat's lightness, and how much it varies from place to place (standard deviation of L*).
   */
  readonly way: number;
  readonly blotch: number;
  /** Mean colour of the light areas and of the dark ones, linear sRGB; the dark ones' is null without any. */
  readonly lightRgb: readonly number[];
  readonly darkRgb: readonly number[] | null;
}

export function outcomeOf({ piece, light, dark, all }: RescueScene, scale: ToneScale): Outcome {
  const last = scale.tones.length - 1;
  const byFilm = Float32Array.from(scale.rgb.subarray(0, scale.rgb.length / 3), (_, at) =>
    // The lightest tone's L* for every tone of the same film: what the film alone makes of full light.
    patchLightness(scale, Math.floor(at / scale.tones.length) * scale.tones.length + last),
  );
  let [sum, squares, total] = [0, 0, 0];
  for (let bin = 0; bin < SCENE_BINS; bin++) {
    if (light[bin] === 0) continue;
    const value = toneScaleAt(scale, 1, filmPlaceOfBin(bin))(byFilm);
    sum += light[bin] * value;
    squares += light[bin] * value * value;
    total += light[bin];
  }
  const mean = sum / total;
  const intact = 100 * luminanceToLightness(luminanceOf(scale.intact));
  const under = piece.stack.coats[1]?.colorLab ?? piece.slab.wood.colorLab;
  const meanRgb = (counts: Float64Array) => [0, 1, 2].map((k) => meanOver(inBins(scale, scale.rgb, 3, k), counts));
  return {
    uncleared: meanOver(inBins(scale, scale.uncleared), light),
    residueUm: meanOver(inBins(scale, scale.residueUm), light),
    scorched: meanOver(inBins(scale, scale.scorchedShare), all),
    way: (mean - intact) / Math.max(1, under[0] - intact),
    blotch: Math.sqrt(Math.max(0, squares / total - mean * mean)),
    lightRgb: meanRgb(light),
    darkRgb: dark.some((count) => count > 0) ? meanRgb(dark) : null,
  };
}
