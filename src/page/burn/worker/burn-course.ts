import { burnCourse } from '../../../outputs/program/burn-course.ts';
import { pauseEffect } from '../../../outputs/program/pause-effect.ts';
import type { Answerer } from './answer.ts';
import { pause as breathe, coarsePipeline, fullRunner, photoOf, pipeline, quickRunner } from './desk.ts';
import type { WireStrip } from './messages.ts';
import type { Questions } from './questions.ts';

type Between = Questions['burn-course']['gets']['between'][number];

export const answerBurnCourse: Answerer<'burn-course'> = async ({ piece, photoKey }, { shouldStop, onProgress }) => {
  const photo = await photoOf(photoKey);
  const { courses } = burnCourse(piece, photo, shouldStop);
  const between: Between[] = [];
  const stages = piece.passes.length - 1;
  for (let done = 1; done <= stages; done++) {
    const strips: WireStrip[] = [];
    const { grid } = await pipeline.proof(
      {
        piece: { ...piece, passes: piece.passes.slice(0, done) },
        photo,
        collect: { surface: true, fields: false, painted: false },
      },
      await fullRunner(),
      {
        shouldStop,
        breathe: () => breathe(0),
        onProgress: (share, stage) => onProgress((done - 1 + share) / stages, stage),
        onStrip: ({ y0, rows, color, relief }) => {
          if (color && relief) strips.push({ y0, rows, color, relief });
        },
      },
    );
    between.push({ width: grid.width, height: grid.height, pitchMm: grid.pitchMm, strips });
  }
  const transfer = between.flatMap(({ strips }) =>
    strips.flatMap(({ color, relief }) => [color.buffer, relief.buffer]),
  );
  return { gets: { courses, between }, transfer: transfer as ArrayBuffer[] };
};

export const answerPause: Answerer<'pause'> = async ({ piece, photoKey, pass, pause }, { shouldStop }) => {
  const photo = await photoOf(photoKey);
  const { screened } = burnCourse(piece, photo, shouldStop);
  const scene = coarsePipeline.scene(piece, photo);
  const appearance = pipeline.appearance(piece);
  return { gets: await pauseEffect(piece, pass, pause, screened, scene, appearance, await quickRunner()) };
};
