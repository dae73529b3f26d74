import { useEffect, useState } from 'react';
import { photoBytes } from '../../files/photo-bytes.ts';
import { shrinkPhoto } from '../../files/shrink-photo.ts';
import type { OpenPhoto } from '../../store/piece-store.ts';

export interface MaskPhoto {
  readonly bitmap: ImageBitmap;
  /** Small, for finding the background. */
  readonly small: { readonly width: number; readonly height: number; readonly rgba: Uint8ClampedArray };
}

/** Longest sides, pixels. */
const SHOWN = 1400;
const SMALL = 600;

/** The photograph, decoded for the dialog; a sentence if it cannot be. */
export function useMaskPhoto(open: OpenPhoto): MaskPhoto | string | null {
  const [photo, setPhoto] = useState<MaskPhoto | string | null>(null);
  useEffect(() => {
    let gone = false;
    decode(open).then(
      (decoded) => {
        if (gone) decoded.bitmap.close();
        else setPhoto(decoded);
      },
      () => !gone && setPhoto('The photograph cannot be shown here; open it anew and try again.'),
    );
    return () => {
      gone = true;
    };
  }, [open]);
  return photo;
}

async function decode({ key, width: fullWidth, height: fullHeight }: OpenPhoto): Promise<MaskPhoto> {
  const bytes = photoBytes(key);
  if (!bytes) throw new Error('the photograph is not open');
  const sized = (longest: number) => {
    const share = Math.min(1, longest / Math.max(fullWidth, fullHeight));
    return [Math.max(1, Math.round(fullWidth * share)), Math.max(1, Math.round(fullHeight * share))] as const;
  };
  const [resizeWidth, resizeHeight] = sized(SHOWN);
  const [width, height] = sized(SMALL);
  const bitmap = await shrinkPhoto(new Blob([bytes as BlobPart]), {
    imageOrientation: 'from-image',
    resizeWidth,
    resizeHeight,
    resizeQuality: 'high',
  });
  if (!bitmap) throw new Error('the photograph cannot be decoded');
  const context = new OffscreenCanvas(width, height).getContext('2d', { willReadFrequently: true });
  if (!context) throw new Error('no memory for a canvas');
  context.imageSmoothingQuality = 'high';
  context.drawImage(bitmap, 0, 0, width, height);
  return { bitmap, small: { width, height, rgba: context.getImageData(0, 0, width, height).data } };
}
