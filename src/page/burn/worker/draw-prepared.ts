import type { ToneImage } from '../../../image/picture.ts';
import { setPngResolution } from '../../../image/png-resolution.ts';
import { preparedGreys } from '../../../image/prepared-greys.ts';

/** A prepared picture as a PNG that carries its size: grey, transparent where nothing burns. */
export async function drawPrepared(tone: ToneImage, pitchMm: number): Promise<Uint8Array> {
  const { width, height } = tone;
  const canvas = new OffscreenCanvas(width, height);
  const context = canvas.getContext('2d');
  if (!context) throw new Error('the browser has no memory left for the picture');
  context.putImageData(new ImageData(preparedGreys(tone, 3), width, height), 0, 0);
  const blob = await canvas.convertToBlob({ type: 'image/png' });
  return setPngResolution(new Uint8Array(await blob.arrayBuffer()), 1 / pitchMm);
}
