import { encodeSrgbByte } from '../../core/color/srgb.ts';
import { setPngResolution } from '../../core/export/png-resolution.ts';
import { lightnessToLuminance } from '../../core/image/lightness.ts';
import type { ToneImage } from '../../core/image/picture.ts';

/** A prepared picture as a PNG that carries its size: grey, transparent where nothing burns. */
export async function drawPrepared(
  { width, height, lightness, mask }: ToneImage,
  pitchMm: number,
): Promise<Uint8Array> {
  const canvas = new OffscreenCanvas(width, height);
  const context = canvas.getContext('2d');
  if (!context) throw new Error('the browser has no memory left for the picture');
  const pixels = new Uint8ClampedArray(4 * width * height);
  for (let i = 0; i < lightness.length; i++) {
    pixels.fill(encodeSrgbByte(lightnessToLuminance(lightness[i])), 4 * i, 4 * i + 3);
    pixels[4 * i + 3] = mask[i];
  }
  context.putImageData(new ImageData(pixels, width, height), 0, 0);
  const blob = await canvas.convertToBlob({ type: 'image/png' });
  return setPngResolution(new Uint8Array(await blob.arrayBuffer()), 1 / pitchMm);
}
