import { burnsAt } from '../../../burn/coarse-scene.ts';
import { cropColors } from '../../../burn/crop-proof.ts';
import { tellingPlace } from '../../../image/telling-place.ts';
import type { Answerer } from './answer.ts';
import { coarsePipeline, fullRunner, pause, photoOf, pipeline } from './desk.ts';

const COLLECT = { surface: true, fields: false, painted: false };

export const answerCrop: Answerer<'crop'> = async ({ piece, photoKey, crop }, { shouldStop, onProgress }) => {
  const photo = await photoOf(photoKey);
  const proof = await pipeline.crop({ piece, photo, crop, collect: COLLECT }, await fullRunner(), {
    shouldStop,
    breathe: () => pause(0),
    onShare: (share) => onProgress(share, 'burn'),
  });
  const { width, height, pitchMm } = proof.grid;
  const color = cropColors(proof);
  const gets = { width, height, pitchMm, color, summary: proof.summary };
  return { gets, transfer: [color.buffer as ArrayBuffer] };
};

export const answerTellingCrop: Answerer<'telling-crop'> = async ({ piece, photoKey, widthMm, heightMm }) => {
  const scene = coarsePipeline.scene(piece, await photoOf(photoKey));
  const { width, height, pitchMm, lightness } = scene;
  const burns = Uint8Array.from(lightness, (_, i) => (burnsAt(scene, i) ? 1 : 0));
  const size = { width: widthMm / pitchMm, height: heightMm / pitchMm };
  const place = tellingPlace({ width, height, lightness, burns }, size);
  return { gets: { xMm: place.x * pitchMm, yMm: place.y * pitchMm, widthMm, heightMm } };
};
