import { ask } from '../burn/proof-client.ts';
import { shrinkPhoto } from '../files/shrink-photo.ts';

/** Longest side of a picture on paper, pixels. */
const LONGEST_PX = 1500;

/** A proof as a JPEG data URL, as large as paper needs it. @throws Error if nothing is kept of the proof. */
export async function paperPicture(id: string, widthOverHeight: number): Promise<string> {
  const png = await ask('picture', { id, which: 'proof' });
  const size = widthOverHeight >= 1 ? { resizeWidth: LONGEST_PX } : { resizeHeight: LONGEST_PX };
  const bitmap = await shrinkPhoto(new Blob([png as BlobPart], { type: 'image/png' }), {
    ...size,
    resizeQuality: 'high',
  });
  if (!bitmap) throw new Error('The browser cannot read the proof’s picture.');
  const canvas = new OffscreenCanvas(bitmap.width, bitmap.height);
  canvas.getContext('2d')?.drawImage(bitmap, 0, 0);
  bitmap.close();
  const blob = await canvas.convertToBlob({ type: 'image/jpeg', quality: 0.86 });
  return new Promise((resolve, reject) => {
    const reader = new FileReader();
    reader.onload = () => resolve(reader.result as string);
    reader.onerror = () => reject(new Error('The browser has no memory left for the picture.'));
    reader.readAsDataURL(blob);
  });
}
