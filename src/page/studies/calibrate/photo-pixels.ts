import type { RgbaPhoto } from '../../../base/geometry/rgba-photo.ts';
import { readPicture } from '../../files/photo-bytes.ts';

/** Longest side that is worked with: finer ones take longer and tell no more. */
const LONGEST_PX = 3000;
const LEAST_PX = 200;

/** Decodes a photograph as it is looked at. @throws Error with a sentence if it is none that can be used. */
export async function photoPixels(file: File): Promise<RgbaPhoto> {
  const bytes = await readPicture(file);
  const whole = await createImageBitmap(new Blob([bytes])).catch(() => {
    throw new Error(`${file.name} cannot be read as a picture. Save it as JPEG, PNG or WebP and open it again.`);
  });
  const share = Math.min(1, LONGEST_PX / Math.max(whole.width, whole.height));
  const width = Math.round(whole.width * share);
  const height = Math.round(whole.height * share);
  if (Math.min(width, height) < LEAST_PX) {
    throw new Error(
      `${file.name} is only ${whole.width} × ${whole.height} pixels; a card can be read from ${LEAST_PX} a side upwards. Open a larger photograph.`,
    );
  }
  const context = new OffscreenCanvas(width, height).getContext('2d', { willReadFrequently: true });
  if (!context) throw new Error('The browser has no memory left for the photograph. Close other pages and try again.');
  context.imageSmoothingQuality = 'high';
  context.drawImage(whole, 0, 0, width, height);
  whole.close();
  return { width, height, rgba: context.getImageData(0, 0, width, height).data };
}
