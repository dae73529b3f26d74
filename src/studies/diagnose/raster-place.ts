import type { PassRaster } from '../../physics/raster/pass-raster.ts';

/** Place of the picture, mm from its left top corner, of raster place (u, v) in dots: `PassRaster`'s map turned round. */
export function picturePlace({ column, row }: PassRaster, u: number, v: number): { xMm: number; yMm: number } {
  const determinant = column[1] * row[2] - column[2] * row[1];
  const du = u - column[0];
  const dv = v - row[0];
  return {
    xMm: (du * row[2] - column[2] * dv) / determinant,
    yMm: (column[1] * dv - du * row[1]) / determinant,
  };
}
