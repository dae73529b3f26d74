import type { Crop } from '../../burn/crop-proof.ts';

/** Smallest and largest side of a crop, mm: with larger ones a grid takes minutes. */
export const LEAST_MM = 3;
export const MOST_MM = 80;

const between = (value: number, low: number, high: number) => Math.min(Math.max(value, low), Math.max(low, high));

/** The crop within the picture and not too large, to a tenth of a millimetre. */
export function heldIn(whole: { readonly widthMm: number; readonly heightMm: number }, crop: Crop): Crop {
  const widthMm = between(crop.widthMm, LEAST_MM, Math.min(MOST_MM, whole.widthMm));
  const heightMm = between(crop.heightMm, LEAST_MM, Math.min(MOST_MM, whole.heightMm));
  const tenth = (value: number) => Math.round(10 * value) / 10;
  return {
    xMm: tenth(between(crop.xMm, 0, whole.widthMm - widthMm)),
    yMm: tenth(between(crop.yMm, 0, whole.heightMm - heightMm)),
    widthMm: tenth(widthMm),
    heightMm: tenth(heightMm),
  };
}
