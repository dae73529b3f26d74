import type { Band } from '../../../studies/sure/how-sure.ts';
import { bandsOf } from '../../../studies/sure/how-sure.ts';
import { JUDGE_DRAWS, judged } from '../../../studies/sure/judge.ts';
import type { Answerer } from './answer.ts';
import { pause, photoOf, pipeline, quickRunner } from './desk.ts';

export const answerBands: Answerer<'bands'> = async ({ pieces, photoKey }, { shouldStop, onProgress }) => {
  const photo = await photoOf(photoKey);
  const runner = await quickRunner();
  const bands: (Band | null)[] = [];
  let done = 0;
  for (const piece of pieces) {
    const ready = await pipeline.ready({ piece, photo }, { shouldStop, breathe: () => pause(0) });
    const { judge, judgement } = await judged(piece, ready, runner, JUDGE_DRAWS, async () => {
      onProgress(done++ / (JUDGE_DRAWS * pieces.length), 'likely results');
      await pause(0);
      return !shouldStop();
    });
    bands.push(bandsOf(judgement, judge.lit).uncleared);
  }
  return { gets: bands };
};
