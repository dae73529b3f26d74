import type { ProofRecord } from '../burn/proof-store.ts';

const THUMBNAIL_PIXELS = 96;

/** Pixels of a picture in colour, RGBA8; alpha is ignored. */
export interface Pixels {
  readonly width: number;
  readonly height: number;
  readonly color: Uint8Array;
}

/** A small picture of a proof, from the quick look: it has the right size already. Empty if there is none yet. */
export const thumbnailOf = ({ coarse }: Pick<ProofRecord, 'coarse'>): string =>
  coarse ? shrink({ ...coarse, color: coarse.strips[0].color }) : '';

/** A small picture as a data URL. */
export function shrink({ width, height, color }: Pixels): string {
  const scale = Math.min(1, THUMBNAIL_PIXELS / Math.max(width, height));
  const canvas = document.createElement('canvas');
  canvas.width = Math.max(1, Math.round(width * scale));
  canvas.height = Math.max(1, Math.round(height * scale));
  const context = canvas.getContext('2d');
  if (!context) return '';
  const image = context.createImageData(canvas.width, canvas.height);
  for (let y = 0; y < canvas.height; y++) {
    for (let x = 0; x < canvas.width; x++) {
      const column = Math.min(width - 1, Math.floor(x / scale));
      const row = Math.min(height - 1, Math.floor(y / scale));
      const from = 4 * (row * width + column);
      const to = 4 * (y * canvas.width + x);
      image.data.set(color.subarray(from, from + 3), to);
      image.data[to + 3] = 255;
    }
  }
  context.putImageData(image, 0, 0);
  return canvas.toDataURL('image/png');
}
