import { createFace } from '../physics/raster/face.ts';
import { turnOf, uprightHeightMm } from '../piece/frame.ts';
import type { PictureSettings, Piece } from '../piece/schema.ts';

/** 255 where a grid over the placed picture lies inside the picture's crop and on the slab, 0 elsewhere; row-major. */
export function outsideMask(
  piece: Piece,
  photo: { readonly width: number; readonly height: number },
  width: number,
  height: number,
  pitchMm: number,
): Uint8Array {
  const { offsetXMm, offsetYMm } = piece.picture;
  const face = createFace(piece.slab);
  const mask = new Uint8Array(width * height);
  for (let y = 0; y < height; y++) {
    const fromMiddleY = (y + 0.5 - height / 2) * pitchMm;
    const picture = cropSpan(piece.picture, photo, width * pitchMm, height * pitchMm, fromMiddleY);
    if (!picture) continue;
    const spans = face.spans(offsetYMm + fromMiddleY);
    for (let i = 0; i + 1 < spans.length; i += 2) {
      const leftMm = Math.max(spans[i] - offsetXMm, picture[0]);
      const rightMm = Math.min(spans[i + 1] - offsetXMm, picture[1]);
      const from = Math.max(0, Math.ceil(leftMm / pitchMm + width / 2 - 0.5));
      const to = Math.min(width, Math.floor(rightMm / pitchMm + width / 2 - 0.5) + 1);
      if (to > from) mask.fill(255, y * width + from, y * width + to);
    }
  }
  return mask;
}

/** Where a line at a height from the picture's middle crosses its crop, mm from the middle; null beyond it. */
function cropSpan(
  picture: PictureSettings,
  photo: { readonly width: number; readonly height: number },
  frameWidthMm: number,
  frameHeightMm: number,
  yMm: number,
): [number, number] | null {
  const { cosine, sine } = turnOf(picture);
  // An upright picture fills its grid to the last dot, whatever was rounded.
  const upright = sine === 0;
  const a = (upright ? frameWidthMm : picture.widthMm) / 2;
  const b = (upright ? frameHeightMm : uprightHeightMm(picture, photo)) / 2;
  if (picture.crop === 'oval') {
    // |(u/a, v/b)| ≤ 1 with u = x·cos − y·sin, v = x·sin + y·cos: a square in x.
    const p = (cosine / a) ** 2 + (sine / b) ** 2;
    const q = yMm * cosine * sine * (1 / (b * b) - 1 / (a * a));
    const r = yMm * yMm * ((sine / a) ** 2 + (cosine / b) ** 2) - 1;
    const root = q * q - p * r;
    return root < 0 ? null : [(-q - Math.sqrt(root)) / p, (-q + Math.sqrt(root)) / p];
  }
  let [left, right] = [Number.NEGATIVE_INFINITY, Number.POSITIVE_INFINITY];
  for (const [perX, perY, half] of [
    [cosine, -sine, a],
    [sine, cosine, b],
  ]) {
    if (perX === 0) {
      if (Math.abs(perY * yMm) > half) return null;
      continue;
    }
    const ends = [(-half - perY * yMm) / perX, (half - perY * yMm) / perX].sort((one, other) => one - other);
    left = Math.max(left, ends[0]);
    right = Math.min(right, ends[1]);
  }
  return right >= left ? [left, right] : null;
}
