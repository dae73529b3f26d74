import { type RescueTools, rescueTools } from '../../../studies/rescue/rescue-scene.ts';
import { coarsePipeline, goingOn, pause, pipeline, quickRunner } from './desk.ts';

/** What searches over drawn pieces work with; between burns messages can come in. */
export const toolsToRescue = async (shouldStop: () => boolean): Promise<RescueTools> => ({
  ...rescueTools(pipeline, coarsePipeline, await quickRunner()),
  ready: (piece, photo) => pipeline.ready({ piece, photo }, { shouldStop, breathe: () => pause(0) }),
  goOn: goingOn(shouldStop),
});
