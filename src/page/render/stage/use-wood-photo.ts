import { useEffect, useMemo, useState } from 'react';
import type { Slab } from '../../../piece/schema.ts';
import { shownPhoto } from '../../../render/model/wood-picture.ts';
import type { WoodPhoto } from '../../../render/slab/SlabView.tsx';
import { inBackground } from '../../faults/tell-fault.ts';
import { photoBytes } from '../../files/photo-bytes.ts';
import { shrinkPhoto } from '../../files/shrink-photo.ts';

/** The slab's photographed face for the view, decoded off the page's thread; null while it is not shown, or not yet there. */
export function useWoodPhoto(slab: Slab): WoodPhoto | null {
  const wanted = shownPhoto(slab);
  const file = wanted?.file ?? null;
  const [decoded, setDecoded] = useState<{ file: string; image: ImageBitmap } | null>(null);
  useEffect(() => {
    const bytes = file === null ? undefined : photoBytes(file);
    if (file === null || !bytes) return;
    let gone = false;
    let image: ImageBitmap | null = null;
    const blob = new Blob([bytes as BlobPart]);
    inBackground(
      shrinkPhoto(blob, { premultiplyAlpha: 'none', colorSpaceConversion: 'none' }).then((bitmap) => {
        if (gone) bitmap?.close();
        else if (bitmap) {
          image = bitmap;
          setDecoded({ file, image: bitmap });
        }
      }),
    );
    return () => {
      gone = true;
      setDecoded(null);
      // The view lets go of it in the render that follows.
      setTimeout(() => image?.close());
    };
  }, [file]);
  const image = decoded?.file === file ? decoded?.image : undefined;
  const { xMm = 0, yMm = 0, widthMm = 1, heightMm = 1 } = wanted ?? {};
  return useMemo(
    () => (image ? { image, centreXMm: xMm, centreYMm: yMm, widthMm, heightMm } : null),
    [image, xMm, yMm, widthMm, heightMm],
  );
}
