import { readBurned } from '../../../studies/rescue/read-burned.ts';
import type { Answerer } from './answer.ts';
import { photoOf } from './desk.ts';
import { toolsToRescue } from './rescue-tools.ts';

export const answerBurnedReading: Answerer<'burned-reading'> = async (
  { piece, photoKey, burned },
  { shouldStop, onProgress },
) => {
  const photo = await photoOf(photoKey);
  const tools = await toolsToRescue(shouldStop);
  return { gets: await readBurned(piece, photo, burned, tools, (share) => onProgress(share, 'photograph')) };
};
