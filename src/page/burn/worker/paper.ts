import { createPreparation } from '../../../burn/prepare.ts';
import { firstLadder } from '../../../outputs/paper/first-ladder.ts';
import { optionSeconds } from '../../../outputs/paper/option-seconds.ts';
import type { Answerer } from './answer.ts';
import { goingOn, pause, photoOf, pipeline, quickRunner } from './desk.ts';

export const answerLadder: Answerer<'ladder'> = async ({ piece, photoKey }, { shouldStop }) => {
  const photo = await photoOf(photoKey);
  const ready = await pipeline.ready({ piece, photo }, { shouldStop, breathe: () => pause(0) });
  const goOn = goingOn(shouldStop);
  return { gets: await firstLadder(piece, ready, await quickRunner(), goOn) };
};

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
