import { labToXyz, linearRgbToLab, REFERENCE_WHITE } from '../../base/color/lab.ts';
import { type Triple, WHITE_XYZ } from '../../base/color/spectrum.ts';

/** Columns of the matrix from linear sRGB to XYZ in the spectral tables' white, taken from the colour library once. */
const COLUMNS: readonly Triple[] = [0, 1, 2].map((k) => {
  const rgb: Triple = [k === 0 ? 1 : 0, k === 1 ? 1 : 0, k === 2 ? 1 : 0];
  const xyz = labToXyz(linearRgbToLab(rgb));
  return xyz.map((value, i) => (value * WHITE_XYZ[i]) / REFERENCE_WHITE[i]) as unknown as Triple;
});

/** XYZ of linear sRGB, relative to the white that `labOf` takes. */
export const linearRgbToXyz = (red: number, green: number, blue: number): Triple =>
  [0, 1, 2].map((i) => COLUMNS[0][i] * red + COLUMNS[1][i] * green + COLUMNS[2][i] * blue) as unknown as Triple;
