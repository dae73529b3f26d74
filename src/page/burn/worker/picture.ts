import type { Answerer } from './answer.ts';
import { photoOf, pipeline, proofOf } from './desk.ts';
import { drawPrepared } from './draw-prepared.ts';
import { drawPicture } from './proof-keeper.ts';

const handedOver = (png: Uint8Array) => ({ gets: png, transfer: [png.buffer as ArrayBuffer] });

export const answerPicture: Answerer<'picture'> = async ({ id, which }) =>
  handedOver(await drawPicture(proofOf(id), which));

export const answerPrepared: Answerer<'prepared'> = async ({ piece, photoKey }) =>
  handedOver(await drawPrepared(pipeline.prepared(piece, await photoOf(photoKey)), piece.passes[0].rowPitchMm));
