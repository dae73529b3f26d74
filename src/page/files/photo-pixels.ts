import type { RgbaPhoto } from '../../base/geometry/rgba-photo.ts';
import { readPicture } from './photo-bytes.ts';

interface PixelsWanted {
  /** A longer side is made as short as this: finer ones take longer and tell no more. */
  readonly longestPx: number;
  readonly leastPx: number;
  /** What takes pixels, as in "a card can be read". */
  readonly purpose: string;
}

/** Decodes a photograph as it is looked at. @throws Error with a sentence if it is none that can be used. */
export async function photoPixels(file: File, { longestPx, leastPx, purpose }: PixelsWanted): Promise<RgbaPhoto> {
  const bytes = await readPicture(file);
  const whole = await createImageBitmap(new Blob([bytes])).catch(() => {
    throw new Error(`${file.name} cannot be read as a picture. Save it as JPEG, PNG or WebP and open it again.`);
  });
  const share = Math.min(1, longestPx / Math.max(whole.width, whole.height));
  const width = Math.round(whole.width * share);
  const height = Math.round(whole.height * share);
  if (Math.min(width, height) < leastPx) {
    throw new Error(
      `${file.name} is only ${whole.width} × ${whole.height} pixels; ${purpose} from ${leastPx} a side upwards. Open a larger photograph.`,
    );
  }
  const context = new OffscreenCanvas(width, height).getContext('2d', { willReadFrequently: true });
  if (!context) throw new Error('The browser has no memory left for the photograph. Close other pages and try again.');
  context.imageSmoothingQuality = 'high';
  context.drawImage(whole, 0, 0, width, height);
  whole.close();
  return { width, height, rgba: context.getImageData(0, 0, width, height).data };
}
