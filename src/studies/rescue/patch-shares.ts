import { inBins, meanOver } from '../../burn/scene-bins.ts';
import type { ToneScale } from '../../burn/tone-scale.ts';
import type { RescueScene } from './rescue-scene.ts';

/** What even patches say of a picture: uncleared share of the light areas, scorched share of all of it; 0–1. */
export interface PatchShares {
  readonly uncleared: number;
  readonly scorched: number;
}

export const patchShares = ({ light, all }: RescueScene, scale: ToneScale): PatchShares => ({
  uncleared: meanOver(inBins(scale, scale.uncleared), light),
  scorched: meanOver(inBins(scale, scale.scorchedShare), all),
});
