import { proposeRescue } from '../../../sim/rescue/propose.ts';
import { coarsePipeline, pause, photoOf, pipeline, quickRunner } from '../desk.ts';
import type { Answerer } from './answer.ts';

export const answerRescue: Answerer<'rescue'> = async ({ piece, photoKey, wishes }, { shouldStop, onProgress }) => {
  const photo = await photoOf(photoKey);
  const tools = {
    coarse: coarsePipeline,
    appearance: pipeline.appearance,
    runner: await quickRunner(),
    goOn: async () => {
      await pause(0);
      return !shouldStop();
    },
  };
  const proposal = await proposeRescue(piece, photo, tools, wishes, (share) => onProgress(share, 'rescue'));
  return { gets: proposal };
};
