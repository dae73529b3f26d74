import { fitTones } from '../../../burn/fit-tones.ts';
import type { Answerer } from './answer.ts';
import { coarsePipeline, photoOf, pipeline, quickRunner } from './desk.ts';

export const answerTones: Answerer<'tones'> = async ({ piece, photoKey, intent }, { shouldStop }) => {
  const photo = await photoOf(photoKey);
  const warmthsK = coarsePipeline.warmthsK(piece, photo);
  const appearance = pipeline.appearance(piece);
  const fitted = await fitTones(piece, appearance, await quickRunner(), { intent, warmthsK, shouldStop });
  return { gets: { ...fitted, histogram: lightnessHistogram(coarsePipeline.scene(piece, photo).lightness) } };
};

const HISTOGRAM_BINS = 64;

function lightnessHistogram(lightness: Float32Array): number[] {
  const counts = new Array<number>(HISTOGRAM_BINS).fill(0);
  for (const value of lightness) counts[Math.min(HISTOGRAM_BINS - 1, Math.floor(value * HISTOGRAM_BINS))]++;
  return counts;
}
