import { findCorners } from '../../../studies/rescue/find-corners.ts';
import type { Answerer } from './answer.ts';
import { photoOf } from './desk.ts';
import { toolsToRescue } from './rescue-tools.ts';

export const answerBurnedCorners: Answerer<'burned-corners'> = async (
  { piece, photoKey, burned, near },
  { shouldStop, onProgress },
) => {
  const photo = await photoOf(photoKey);
  const tools = await toolsToRescue(shouldStop);
  return { gets: await findCorners(piece, photo, burned, tools, near, (share) => onProgress(share, 'photograph')) };
};
