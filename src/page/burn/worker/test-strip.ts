import { encodeSrgbByte } from '../../../base/color/srgb.ts';
import { createProofPipeline } from '../../../burn/proof.ts';
import { encodePieceFile } from '../../../piece/file.ts';
import { learnFromStrip } from '../../../studies/test-strip/learn-from-strip.ts';
import { makeStrip } from '../../../studies/test-strip/make-strip.ts';
import { proveStrip } from '../../../studies/test-strip/prove-strip.ts';
import { STRIP_PICTURE_FILE } from '../../../studies/test-strip/strip-piece.ts';
import type { Answerer } from './answer.ts';
import { pause, photoOf, quickRunner } from './desk.ts';
import { toolsToRescue } from './rescue-tools.ts';

/** Of its own, so that the proof on the table keeps its stages. */
const strips = createProofPipeline({ stripRows: 16 });

export const answerTestStrip: Answerer<'test-strip'> = async (
  { piece, photoKey, order },
  { shouldStop, onProgress },
) => {
  const strip = makeStrip(piece, await photoOf(photoKey), order, shouldStop);
  const key = JSON.stringify([photoKey, piece.picture, piece.passes[0].rowPitchMm, order]);
  const proof = await proveStrip(
    strip,
    strips,
    await quickRunner(),
    { shouldStop, onProgress, breathe: () => pause(0) },
    key,
  );
  const pixels = new Uint8ClampedArray(proof.color);
  for (let i = 3; i < pixels.length; i += 4) pixels[i] = 255;
  const grey = new Uint8ClampedArray(4 * strip.picture.luminance.length).fill(255);
  strip.picture.luminance.forEach((value, i) => {
    grey.fill(encodeSrgbByte(value), 4 * i, 4 * i + 3);
  });
  const image = await png(grey, strip.picture.width, strip.picture.height);
  const file = encodePieceFile({ piece: strip.piece, images: new Map([[STRIP_PICTURE_FILE, image]]) });
  const { color: _, ...rest } = proof;
  const { widthMm, heightMm } = strip.layout;
  return {
    gets: { ...rest, widthMm, heightMm, picture: await png(pixels, proof.width, proof.height), file },
    transfer: [file.buffer as ArrayBuffer],
  };
};

export const answerStripLesson: Answerer<'strip-lesson'> = async (
  { piece, photoKey, order, answer },
  { shouldStop, onProgress },
) => {
  const tools = await toolsToRescue(shouldStop);
  const photo = await photoOf(photoKey);
  return { gets: await learnFromStrip(piece, photo, order, answer, tools, (share) => onProgress(share, 'strip')) };
};

async function png(pixels: Uint8ClampedArray<ArrayBuffer>, width: number, height: number): Promise<Uint8Array> {
  const canvas = new OffscreenCanvas(width, height);
  const context = canvas.getContext('2d');
  if (!context) throw new Error('the browser has no memory left for the picture');
  context.putImageData(new ImageData(pixels, width, height), 0, 0);
  return new Uint8Array(await (await canvas.convertToBlob({ type: 'image/png' })).arrayBuffer());
}
