import type { Piece } from '../../../piece/schema.ts';
import { likelyEnds } from '../../../studies/sure/likely-ends.ts';
import type { Answerer } from './answer.ts';
import { coarsePipeline, pause, photoOf, pipeline, quickRunner } from './desk.ts';
import type { QuickLook } from './questions.ts';

const DRAWS = 24;

export const answerLikelyEnds: Answerer<'likely-ends'> = async ({ piece, photoKey }, { shouldStop, onProgress }) => {
  const photo = await photoOf(photoKey);
  const runner = await quickRunner();
  const warmthsK = coarsePipeline.warmthsK(piece, photo);
  const scene = coarsePipeline.scene(piece, photo);
  const ends = await likelyEnds(
    piece,
    scene,
    pipeline.appearance(piece),
    runner,
    { draws: DRAWS, warmthsK },
    async (draw) => {
      onProgress(draw / DRAWS, 'likely results');
      await pause(0);
      return !shouldStop();
    },
  );
  const look = async (one: Piece): Promise<QuickLook> => {
    const { color, relief, ...size } = await coarsePipeline.coarse(one, photo, pipeline.appearance(one), runner);
    return { ...size, strip: { y0: 0, rows: size.height, color, relief } };
  };
  return { gets: { lighter: await look(ends.lighter), darker: await look(ends.darker) } };
};
