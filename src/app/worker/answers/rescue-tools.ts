import type { RescueTools } from '../../../sim/rescue/rescue-scene.ts';
import { coarsePipeline, pause, pipeline, quickRunner } from '../desk.ts';

/** What searches over drawn pieces work with; between burns messages can come in. */
export const rescueTools = async (shouldStop: () => boolean): Promise<RescueTools> => ({
  coarse: coarsePipeline,
  appearance: pipeline.appearance,
  runner: await quickRunner(),
  goOn: async () => {
    await pause(0);
    return !shouldStop();
  },
});
