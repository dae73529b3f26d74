import { JobRefused } from '../../../outputs/program/mend.ts';
import { takeUp } from '../../../outputs/program/take-up.ts';
import type { Answerer } from './answer.ts';
import { photoOf } from './desk.ts';
import { toolsToRescue } from './rescue-tools.ts';

export const answerTakeUp: Answerer<'take-up'> = async ({ piece, photoKey, pass, at, pauseS }, { shouldStop }) => {
  const photo = await photoOf(photoKey);
  try {
    return { gets: await takeUp(piece, photo, pass, at, pauseS, await toolsToRescue(shouldStop), shouldStop) };
  } catch (error) {
    if (error instanceof JobRefused) return { gets: { refusals: error.refusals } };
    throw error;
  }
};
