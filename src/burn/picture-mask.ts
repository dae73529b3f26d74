import { paintStrokes } from '../image/mask/brush.ts';
import { applyVignette } from '../image/mask/vignette.ts';
import { rotatePicture } from '../image/rotate.ts';
import { turnOf, uprightHeightMm } from '../piece/frame.ts';
import type { Piece } from '../piece/schema.ts';
import { outsideMask } from './outside-mask.ts';

type Size = { readonly width: number; readonly height: number };

/**
 * What of the placed picture may burn, 0–255 a dot: its crop and the slab's outline, falling off towards the crop's edge, less what the
 * brush has taken away.
 */
export function pictureMask(piece: Piece, photo: Size, width: number, height: number, pitchMm: number): Uint8Array {
  const outside = outsideMask(piece, photo, width, height, pitchMm);
  const { fallOffMm, strokes, crop, rotationRad } = piece.picture;
  if (fallOffMm === 0 && strokes.length === 0) return outside;
  const upright =
    rotationRad === 0
      ? { width, height }
      : {
          width: Math.max(1, Math.round(piece.picture.widthMm / pitchMm)),
          height: Math.max(1, Math.round(uprightHeightMm(piece.picture, photo) / pitchMm)),
        };
  let mask: Uint8Array = new Uint8Array(upright.width * upright.height).fill(255);
  if (fallOffMm > 0) mask = applyVignette(mask, upright.width, upright.height, pitchMm, { shape: crop, fallOffMm });
  if (strokes.length > 0) mask = paintStrokes(mask, upright.width, upright.height, strokes);
  const turned = rotationRad === 0 ? mask : turnMask(mask, upright, piece, width, height);
  for (let i = 0; i < outside.length; i++) if (outside[i] > 0) outside[i] = turned[i];
  return outside;
}

function turnMask(mask: Uint8Array, size: Size, piece: Piece, width: number, height: number): Uint8Array {
  const luminance = Float32Array.from(mask, (value) => value / 255);
  const turned = rotatePicture({ ...size, luminance, alpha: null }, turnOf(piece.picture), width, height);
  return Uint8Array.from(turned.luminance, (value) => 255 * value + 0.5);
}
