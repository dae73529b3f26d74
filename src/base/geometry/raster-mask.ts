import { insetOutline } from './inset.ts';
import type { Polygon } from './point.ts';
import type { TrueSizePhoto } from './rgba-photo.ts';

/** 1 for pixels of a photo whose middle lies inside an outline by more than `insetMm`, 0 elsewhere. Scan lines, even–odd rule. */
export function rasterMask(
  photo: Pick<TrueSizePhoto, 'width' | 'height' | 'mmPerPixel' | 'leftMm' | 'topMm'>,
  outline: Polygon,
  insetMm = 0,
): Uint8Array {
  const { width, height, mmPerPixel, leftMm, topMm } = photo;
  const line = insetMm === 0 ? outline : insetOutline(outline, insetMm);
  const mask = new Uint8Array(width * height);
  for (let j = 0; j < height; j++) {
    const y = topMm + (j + 0.5) * mmPerPixel;
    const hits: number[] = [];
    for (let i = 0; i < line.length; i++) {
      const [ax, ay] = line[i];
      const [bx, by] = line[i + 1 < line.length ? i + 1 : 0];
      if (ay > y !== by > y) hits.push((ax + ((y - ay) / (by - ay)) * (bx - ax) - leftMm) / mmPerPixel - 0.5);
    }
    hits.sort((p, q) => p - q);
    for (let k = 0; k + 1 < hits.length; k += 2) {
      const from = Math.max(0, Math.ceil(hits[k]));
      const to = Math.min(width, Math.floor(hits[k + 1]) + 1);
      if (to > from) mask.fill(1, j * width + from, j * width + to);
    }
  }
  return mask;
}
