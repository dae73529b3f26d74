import { proposeRescue } from '../../../studies/rescue/propose.ts';
import type { Answerer } from './answer.ts';
import { photoOf } from './desk.ts';
import { toolsToRescue } from './rescue-tools.ts';

export const answerRescue: Answerer<'rescue'> = async ({ piece, photoKey, wishes }, { shouldStop, onProgress }) => {
  const photo = await photoOf(photoKey);
  const tools = await toolsToRescue(shouldStop);
  return { gets: await proposeRescue(piece, photo, tools, wishes, (share) => onProgress(share, 'rescue')) };
};
