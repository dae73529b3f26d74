import { burnsAt, type CoarseScene } from './coarse-scene.ts';
import { TONE_SCALE_DEFAULTS, type ToneScale, toneScaleAt } from './tone-scale.ts';

/** A scene's places sorted by tone and film, because what becomes of a place depends on little else. */
const TONE_BINS = 64;
const FILM_BINS = 37;
export const SCENE_BINS = TONE_BINS * FILM_BINS;

/** Lightness of the photo in the middle of a bin, 0–1. */
export const toneOfBin = (bin: number): number => (bin % TONE_BINS) / (TONE_BINS - 1);
/** Place of a bin between the thinnest and the thickest film of a tone scale, 0–1. */
export const filmPlaceOfBin = (bin: number): number => Math.floor(bin / TONE_BINS) / (FILM_BINS - 1);

/** Bin of tone and film of each place, `film · tones + tone`; −1 where nothing burns or no coat lies. */
export function binsOf(scene: CoarseScene): Int32Array {
  const { films } = TONE_SCALE_DEFAULTS;
  const [lowest, highest] = [films[0], films[films.length - 1]];
  const { film } = scene.ground;
  return Int32Array.from(film, (thickness, i) => {
    if (thickness === 0 || !burnsAt(scene, i)) return -1;
    const tone = Math.round(scene.lightness[i] * (TONE_BINS - 1));
    const place = Math.min(1, Math.max(0, (thickness - lowest) / (highest - lowest)));
    return Math.round(place * (FILM_BINS - 1)) * TONE_BINS + tone;
  });
}

/** Places per bin, of those that `counts` says yes to. */
export function countBins(bins: Int32Array, counts: (place: number) => boolean = () => true): Float64Array {
  const sum = new Float64Array(SCENE_BINS);
  for (let i = 0; i < bins.length; i++) if (bins[i] >= 0 && counts(i)) sum[bins[i]]++;
  return sum;
}

/** One of a tone scale's arrays at every bin; value `k` of `stride`. */
export function inBins(scale: ToneScale, values: Float32Array, stride = 1, k = 0): Float64Array {
  return Float64Array.from({ length: SCENE_BINS }, (_, bin) =>
    toneScaleAt(scale, toneOfBin(bin), filmPlaceOfBin(bin))(values, stride, k),
  );
}

/** Mean of what is known per bin over the places counted; 0 without any. */
export function meanOver(values: ArrayLike<number>, counts: Float64Array): number {
  let sum = 0;
  let total = 0;
  for (let i = 0; i < SCENE_BINS; i++) {
    sum += counts[i] * values[i];
    total += counts[i];
  }
  return total > 0 ? sum / total : 0;
}
