import type { Piece } from '../core/piece/schema.ts';
import { createFace } from '../core/raster/face.ts';

/** 255 where a grid over the picture lies inside the picture's crop and on the slab, 0 elsewhere; row-major. */
export function outsideMask(piece: Piece, width: number, height: number, pitchMm: number): Uint8Array {
  const { crop, offsetXMm, offsetYMm } = piece.picture;
  const face = createFace(piece.slab);
  const mask = new Uint8Array(width * height);
  for (let y = 0; y < height; y++) {
    const fromMiddleY = (y + 0.5 - height / 2) * pitchMm;
    const picture = halfWidth(crop, width * pitchMm, height * pitchMm, fromMiddleY);
    const spans = face.spans(offsetYMm + fromMiddleY);
    for (let i = 0; i + 1 < spans.length; i += 2) {
      const leftMm = Math.max(spans[i] - offsetXMm, -picture);
      const rightMm = Math.min(spans[i + 1] - offsetXMm, picture);
      const from = Math.max(0, Math.ceil(leftMm / pitchMm + width / 2 - 0.5));
      const to = Math.min(width, Math.floor(rightMm / pitchMm + width / 2 - 0.5) + 1);
      if (to > from) mask.fill(255, y * width + from, y * width + to);
    }
  }
  return mask;
}

/** Half the width of the picture's crop at a height from its middle, mm; less than zero beyond it. */
function halfWidth(crop: 'oval' | 'rectangle', widthMm: number, heightMm: number, yMm: number): number {
  const v = yMm / (heightMm / 2);
  if (Math.abs(v) > 1) return -1;
  return (crop === 'oval' ? Math.sqrt(1 - v * v) : 1) * (widthMm / 2);
}
