import { inspectPicture, PAGE_FORMATS } from '../../image/inspect.ts';
import { PictureError } from '../../image/picture-error.ts';
import { readFile, shrinkPhoto } from '../files/photo-bytes.ts';

/** The photograph is shown and read at most this wide or high, pixels: a patch is an average anyway. */
const LONGEST = 1200;

/**
 * A photograph on a canvas of the page, upright and in sRGB. Decoded and made smaller off the page's own thread.
 * @throws PictureError with the reason and the way out.
 */
export async function openPatchPhoto(file: File): Promise<HTMLCanvasElement> {
  const { width, height, orientation } = inspectPicture(await readFile(file), PAGE_FORMATS);
  const [wide, high] = orientation >= 5 ? [height, width] : [width, height];
  const scale = Math.min(1, LONGEST / Math.max(wide, high));
  // One side only: the browser keeps the proportions.
  const bitmap = await shrinkPhoto(file, {
    imageOrientation: 'from-image',
    ...(scale < 1 && { resizeWidth: Math.max(1, Math.round(scale * wide)), resizeQuality: 'medium' as const }),
  });
  if (!bitmap) {
    throw new PictureError(
      'damaged',
      'cannot be decoded: it may be damaged. Open it in an image editor and save it anew.',
    );
  }
  const canvas = document.createElement('canvas');
  canvas.width = bitmap.width;
  canvas.height = bitmap.height;
  const context = canvas.getContext('2d', { colorSpace: 'srgb', willReadFrequently: true });
  if (!context) {
    throw new PictureError('damaged', 'is too much for the browser’s memory now. Close other pages and try again.');
  }
  // What is transparent counts as nothing painted: white.
  context.fillStyle = '#fff';
  context.fillRect(0, 0, canvas.width, canvas.height);
  context.drawImage(bitmap, 0, 0);
  bitmap.close();
  return canvas;
}
