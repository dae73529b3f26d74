import { useEffect, useState } from 'react';
import { inBackground } from '../../faults/tell-fault.ts';
import { photoBytes } from '../../files/photo-bytes.ts';
import { shrinkPhoto } from '../../files/shrink-photo.ts';
import type { OpenPhoto } from '../../store/piece-store.ts';

const LONGEST_PX = 900;

/** The photograph at screen size, decoded off the page's thread; null until it is there, or if none is wanted. */
export function useGhost(photo: OpenPhoto | null): ImageBitmap | null {
  const [ghost, setGhost] = useState<{ key: string; bitmap: ImageBitmap } | null>(null);
  const { key = null, width = 1, height = 1 } = photo ?? {};
  useEffect(() => {
    const bytes = key === null ? undefined : photoBytes(key);
    if (key === null || !bytes) return;
    let gone = false;
    let decoded: ImageBitmap | null = null;
    const share = Math.min(1, LONGEST_PX / Math.max(width, height));
    inBackground(
      shrinkPhoto(new Blob([bytes as BlobPart]), {
        imageOrientation: 'from-image',
        resizeWidth: Math.max(1, Math.round(width * share)),
        resizeHeight: Math.max(1, Math.round(height * share)),
        resizeQuality: 'medium',
      }).then((bitmap) => {
        if (gone) bitmap?.close();
        else if (bitmap) {
          decoded = bitmap;
          setGhost({ key, bitmap });
        }
      }),
    );
    return () => {
      gone = true;
      setGhost(null);
      decoded?.close();
    };
  }, [key, width, height]);
  return ghost?.key === key ? ghost.bitmap : null;
}
