import { check } from '../../../studies/choose/check.ts';
import { choose } from '../../../studies/choose/choose.ts';
import { withDrawnFilm } from '../../../studies/sure/spread.ts';
import type { Answerer } from './answer.ts';
import { coarsePipeline, fullRunner, pause, photoOf, pipeline, quickRunner } from './desk.ts';

export const answerChoose: Answerer<'choose'> = async (
  { piece, photoKey, wishes },
  { shouldStop, onProgress, onPart },
) => {
  const photo = await photoOf(photoKey);
  const hooks = { shouldStop, onProgress, onPartial: onPart, breathe: () => pause(0) };
  const scene = coarsePipeline.scene(withDrawnFilm(piece, 0), photo);
  const appearance = pipeline.appearance(piece);
  const found = await choose({ piece, scene, appearance, wishes }, await quickRunner(), hooks);
  onPart(found);
  return { gets: await check({ piece, photo }, found, await fullRunner(), hooks) };
};
