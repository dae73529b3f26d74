import { useEffect, useState } from 'react';
import { photoBytes, shrinkPhoto } from '../files/photo-bytes.ts';
import type { PieceFace } from '../store/board-rows.ts';
import { openDatabase } from '../store/database.ts';
import { keptPhoto } from '../store/library.ts';
import type { Line } from './board-store.ts';

/** The piece as a small slab: its outline and top coat, and on it the picture as proofed, or the photograph without its colours. */
export function Face({ line: { row, proof } }: { line: Line }) {
  const proofed = proof?.thumbnail ?? '';
  const photo = useSmallPhoto(proofed === '' ? (row.photo?.key ?? null) : null);
  const { face } = row;
  if (!face) return <span className="piece-face" aria-hidden="true" />;
  const { widthMm, heightMm, colorLab, picture, isRound } = face;
  const address = proofed || photo;
  const share = (value: number) => `${100 * value}%`;
  return (
    <span className="piece-face" aria-hidden="true">
      <span
        className="piece-slab"
        style={{
          aspectRatio: `${widthMm} / ${heightMm}`,
          [widthMm * 3 > heightMm * 4 ? 'width' : 'height']: '100%',
          ...outlineStyle(face),
          background: `lab(${colorLab.join(' ')})`,
        }}
      >
        {address && (
          <img
            src={address}
            alt=""
            className={proofed === '' ? 'piece-photo' : undefined}
            style={{
              left: share(picture.left),
              top: share(picture.top),
              width: share(picture.width),
              height: share(picture.height),
              borderRadius: isRound ? '50%' : undefined,
            }}
          />
        )}
      </span>
    </span>
  );
}

function outlineStyle({ shape, outline }: PieceFace) {
  if (shape === 'rectangle') return { borderRadius: '3px' };
  if (shape === 'oval') return { borderRadius: '50%' };
  return { clipPath: `polygon(${outline.map(([x, y]) => `${100 * x}% ${100 * y}%`).join(', ')})` };
}

const SMALL_PX = 160;

/** Small pictures of photographs that were shown before, by key. */
const smallPhotos = new Map<string, string>();

/** One photograph is decoded after the other: each may be large. */
let decoding: Promise<unknown> = Promise.resolve();

/** A kept photograph as a small picture's address; null until it is there, and where it cannot be decoded. */
function useSmallPhoto(key: string | null): string | null {
  const [address, setAddress] = useState(key === null ? null : (smallPhotos.get(key) ?? null));
  useEffect(() => {
    if (key === null || smallPhotos.has(key)) {
      setAddress(key === null ? null : smallPhotos.get(key)!);
      return;
    }
    let gone = false;
    const make = async () => {
      if (gone) return;
      if (!smallPhotos.has(key)) await shrink(key);
      if (!gone) setAddress(smallPhotos.get(key) ?? null);
    };
    decoding = decoding.then(make).catch(() => {});
    return () => {
      gone = true;
    };
  }, [key]);
  return address;
}

async function shrink(key: string): Promise<void> {
  const bytes = photoBytes(key) ?? (await keptPhoto(await openDatabase(), key));
  const bitmap =
    bytes &&
    (await shrinkPhoto(new Blob([bytes as BlobPart]), {
      imageOrientation: 'from-image',
      resizeWidth: SMALL_PX,
      resizeQuality: 'medium',
    }));
  if (!bitmap) return;
  const canvas = document.createElement('canvas');
  canvas.width = bitmap.width;
  canvas.height = bitmap.height;
  canvas.getContext('2d')?.drawImage(bitmap, 0, 0);
  bitmap.close();
  smallPhotos.set(key, canvas.toDataURL('image/jpeg', 0.8));
}
