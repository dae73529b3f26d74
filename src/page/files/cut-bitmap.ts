import type { Cut } from '../../piece/schema.ts';
import { photoBytes, shrinkPhoto } from './photo-bytes.ts';

interface KeptPhoto {
  readonly key: string;
  readonly width: number;
  readonly height: number;
}

/** What is used of a photograph at screen size, its longer side as long as this at most; null if it cannot be decoded. */
export async function cutBitmap(photo: KeptPhoto, cut: Cut | null, longestPx: number): Promise<ImageBitmap | null> {
  const bytes = photoBytes(photo.key);
  if (!bytes) return null;
  const used = cut ? photo.width * Math.max(cut.width, cut.height) : Math.max(photo.width, photo.height);
  const share = Math.min(1, longestPx / used);
  const whole = await shrinkPhoto(new Blob([bytes as BlobPart]), {
    imageOrientation: 'from-image',
    resizeWidth: Math.max(1, Math.round(photo.width * share)),
    resizeHeight: Math.max(1, Math.round(photo.height * share)),
    resizeQuality: 'high',
  });
  if (!whole || !cut) return whole;
  const pixels = whole.width;
  const canvas = new OffscreenCanvas(
    Math.max(1, Math.round(cut.width * pixels)),
    Math.max(1, Math.round(cut.height * pixels)),
  );
  const context = canvas.getContext('2d');
  if (!context) return null;
  context.translate(canvas.width / 2, canvas.height / 2);
  context.rotate(-cut.turnRad);
  context.drawImage(whole, -cut.xMiddle * pixels, -cut.yMiddle * pixels);
  whole.close();
  return canvas.transferToImageBitmap();
}
