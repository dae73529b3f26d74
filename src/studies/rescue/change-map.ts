import { colorDifference, type Lab, linearRgbToLab } from '../../base/color/lab.ts';
import { filmPlaceOfBin, SCENE_BINS, toneOfBin } from '../../burn/scene-bins.ts';
import { type ToneScale, toneScaleAt } from '../../burn/tone-scale.ts';
import type { Tiles } from '../../piece/schema.ts';
import { unpackTiles } from '../../piece/tiles.ts';
import type { RescueScene } from './rescue-scene.ts';

/** How much a pass changes each place of the quick look. */
export interface ChangeMap {
  readonly width: number;
  readonly height: number;
  readonly pitchMm: number;
  /** `CHANGE_STEPS` per unit of ΔE00, clipped at 255. */
  readonly change: Uint8Array;
}

export const CHANGE_STEPS = 5;

/** Colour before and after as mean of several tone scales, each with its share. */
export interface MeanScale {
  readonly scale: ToneScale;
  readonly rgb: Float32Array;
}

/** Mean colours of tone scales with the same tones and films. Shares sum to 1. */
export function meanScale(scales: readonly { readonly scale: ToneScale; readonly share: number }[]): MeanScale {
  const [{ scale }] = scales;
  const rgb = new Float32Array(scale.rgb.length);
  for (const one of scales) for (let i = 0; i < rgb.length; i++) rgb[i] += one.share * one.scale.rgb[i];
  return { scale, rgb };
}

/** ΔE00 of each patch from before to after. */
export function patchChanges(before: MeanScale, after: MeanScale): Float32Array {
  const labAt = (rgb: Float32Array, at: number): Lab => linearRgbToLab([rgb[3 * at], rgb[3 * at + 1], rgb[3 * at + 2]]);
  return Float32Array.from({ length: before.rgb.length / 3 }, (_, at) =>
    colorDifference(labAt(before.rgb, at), labAt(after.rgb, at)),
  );
}

/** Changes of the patches laid on the picture, nothing where the pass does not burn. */
export function changeMap(
  { scene: { width, height, pitchMm }, bins }: RescueScene,
  { scale }: MeanScale,
  changes: Float32Array,
  only: Tiles | null,
): ChangeMap {
  const perBin = Uint8Array.from({ length: SCENE_BINS }, (_, bin) =>
    Math.min(255, Math.round(CHANGE_STEPS * toneScaleAt(scale, toneOfBin(bin), filmPlaceOfBin(bin))(changes))),
  );
  const tiles = only && unpackTiles(only);
  const change = Uint8Array.from(bins, (bin, i) => {
    if (bin < 0) return 0;
    if (only && tiles) {
      const column = Math.floor((((i % width) + 0.5) * only.columns) / width);
      const row = Math.floor(((Math.floor(i / width) + 0.5) * only.rows) / height);
      if (tiles[row * only.columns + column] === 0) return 0;
    }
    return perBin[bin];
  });
  return { width, height, pitchMm, change };
}
