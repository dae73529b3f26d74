import { srgbDecodingTable } from '../../base/color/srgb-decoding.ts';
import type { Slab } from '../../piece/schema.ts';
import type { SlabPhoto } from '../../piece/slab-photo.ts';
import type { Rgba } from './slab-pictures.ts';

/** A slab's own face and rim, photographed and laid flat; its west and north ends from the slab's centre, y growing downwards. */
export interface WoodPicture extends Rgba {
  readonly westMm: number;
  readonly northMm: number;
  readonly widthMm: number;
  readonly heightMm: number;
}

/** Pixels across that a photograph of a slab is worth being drawn with. */
export const MOST_WOOD_PX = 2400;

/** The photograph that bare wood is shown by; null where it is shown as the model grows it. */
export const shownPhoto = ({ shape, photo }: Slab): SlabPhoto | null =>
  photo?.shown && shape === 'outline' ? photo : null;

/** Puts decoded pixels in their place on the slab. */
export const placeWood = ({ xMm, yMm, widthMm, heightMm }: SlabPhoto, pixels: Rgba): WoodPicture => ({
  ...pixels,
  westMm: xMm - widthMm / 2,
  northMm: yMm - heightMm / 2,
  widthMm,
  heightMm,
});

/** Tells the mean linear rgb over a square of the slab, mm. */
export function woodSampler({ width, height, data, westMm, northMm, widthMm, heightMm }: WoodPicture) {
  const linear = srgbDecodingTable(8);
  const perMm = width / widthMm;
  const downPerMm = height / heightMm;
  return (xMm: number, yMm: number, spanMm: number): [number, number, number] => {
    const across = Math.max(1, Math.round(spanMm * perMm));
    const x0 = Math.round((xMm - westMm) * perMm - across / 2);
    const y0 = Math.round((yMm - northMm) * downPerMm - across / 2);
    const sum: [number, number, number] = [0, 0, 0];
    for (let y = y0; y < y0 + across; y++) {
      const row = Math.min(height - 1, Math.max(0, y)) * width;
      for (let x = x0; x < x0 + across; x++) {
        const at = 4 * (row + Math.min(width - 1, Math.max(0, x)));
        for (let k = 0; k < 3; k++) sum[k] += linear[data[at + k]];
      }
    }
    const share = 1 / (across * across);
    return [sum[0] * share, sum[1] * share, sum[2] * share];
  };
}
