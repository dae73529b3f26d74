import type { Band } from '../../../sim/how-sure.ts';
import { howSure } from '../../../sim/how-sure.ts';
import { coarsePipeline, pause, photoOf, pipeline, quickRunner } from '../desk.ts';
import type { Answerer } from './answer.ts';

/** As many as for a proof. */
const DRAWS = 40;

export const answerBands: Answerer<'bands'> = async ({ pieces, photoKey }, { shouldStop, onProgress }) => {
  const photo = await photoOf(photoKey);
  const runner = await quickRunner();
  const bands: (Band | null)[] = [];
  let done = 0;
  for (const piece of pieces) {
    const warmthsK = coarsePipeline.warmthsK(piece, photo);
    const scene = coarsePipeline.scene(piece, photo);
    const sure = await howSure(
      piece,
      scene,
      pipeline.appearance(piece),
      runner,
      { draws: DRAWS, warmthsK },
      async () => {
        onProgress(done++ / (DRAWS * pieces.length), 'likely results');
        await pause(0);
        return !shouldStop();
      },
    );
    bands.push(sure.uncleared);
  }
  return { gets: bands };
};
