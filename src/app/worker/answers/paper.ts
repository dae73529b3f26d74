import { firstLadder } from '../../../sim/first-ladder.ts';
import { optionSeconds } from '../../../sim/option-seconds.ts';
import { createPreparation } from '../../../sim/prepare.ts';
import { photoOf, pipeline, quickRunner } from '../desk.ts';
import type { Answerer } from './answer.ts';

export const answerLadder: Answerer<'ladder'> = async ({ piece }, { shouldStop }) => ({
  gets: await firstLadder(piece, pipeline.appearance(piece), await quickRunner(), shouldStop),
});

export const answerOptionSeconds: Answerer<'option-seconds'> = async (
  { piece, photoKey },
  { shouldStop, onProgress },
) => {
  const photo = await photoOf(photoKey);
  const preparation = createPreparation(shouldStop);
  const { options } = piece.quote;
  const seconds = options.map((option, i) => {
    onProgress(i / options.length, option.name);
    return optionSeconds(preparation, photo, piece, option);
  });
  return { gets: seconds };
};
