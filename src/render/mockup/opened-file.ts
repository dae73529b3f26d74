import { type SlabParts, slabParts } from '../model/slab-parts.ts';
import type { ClientFileData } from './client-file.ts';
import { slopePicture } from './face-slopes.ts';
import type { FaceLook } from './mockup-scene.ts';

/** A face's look from its decoded pictures. */
export function lookOf(
  { lowUm, highUm, slab }: Pick<ClientFileData, 'lowUm' | 'highUm' | 'slab'>,
  color: HTMLImageElement,
  relief: HTMLImageElement,
): FaceLook {
  const heights = pixelsOf(relief);
  return { color, slopes: slopePicture({ ...heights, lowUm, highUm, pixelMm: slab.widthMm / heights.width }) };
}

/** A slab's meshes and its rim, in the colours and with the bumps of two decoded pictures if there are any. */
export function partsOf(
  { slab }: Pick<ClientFileData, 'slab'>,
  rim: readonly [HTMLImageElement, HTMLImageElement] | null,
): SlabParts {
  const parts = slabParts(slab);
  if (!rim) return parts;
  const [{ width, height, data }, normal] = rim.map(pixelsOf);
  return { ...parts, rimMap: { width, height, color: data, normal: normal.data } };
}

function pixelsOf(image: HTMLImageElement): { width: number; height: number; data: Uint8Array } {
  const { naturalWidth: width, naturalHeight: height } = image;
  const sheet = document.createElement('canvas');
  sheet.width = width;
  sheet.height = height;
  const context = sheet.getContext('2d', { willReadFrequently: true })!;
  context.drawImage(image, 0, 0);
  return { width, height, data: new Uint8Array(context.getImageData(0, 0, width, height).data.buffer) };
}
