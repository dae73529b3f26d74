import { labToXyz, linearRgbToLab } from '../../base/color/lab.ts';
import { srgbDecodingTable } from '../../base/color/srgb-decoding.ts';
import type { RgbaPhoto } from '../../base/geometry/rgba-photo.ts';

/** L* (0–100), a*, b* of each pixel (D65), row-major. */
export interface LabPlanes {
  readonly L: Float32Array;
  readonly a: Float32Array;
  readonly b: Float32Array;
}

/** XYZ of red, green and blue at full, over that of white, column by column; from the same conversions as everywhere. */
const WHITE = labToXyz(linearRgbToLab([1, 1, 1]));
const [RED, GREEN, BLUE] = (
  [
    [1, 0, 0],
    [0, 1, 0],
    [0, 0, 1],
  ] as const
).map((rgb) => labToXyz(linearRgbToLab(rgb)).map((value, k) => value / WHITE[k]));

/**
 * L*a*b* of a whole photo: `linearRgbToLab` of src/base/color/lab.ts pixel by pixel, but without an object per pixel, which makes it
 * quick enough for millions. Opacity is not looked at.
 * Source: CIE 15:2004, 8.2.1. Test: agrees with `linearRgbToLab` within 0.01 (test/unit/slab-segment.test.ts).
 */
export function labPlanes({ width, height, rgba }: RgbaPhoto): LabPlanes {
  const linear = srgbDecodingTable(8);
  const count = width * height;
  const planes = { L: new Float32Array(count), a: new Float32Array(count), b: new Float32Array(count) };
  for (let i = 0; i < count; i++) {
    const r = linear[rgba[4 * i]];
    const g = linear[rgba[4 * i + 1]];
    const b = linear[rgba[4 * i + 2]];
    const x = cubeRootLike(RED[0] * r + GREEN[0] * g + BLUE[0] * b);
    const y = cubeRootLike(RED[1] * r + GREEN[1] * g + BLUE[1] * b);
    const z = cubeRootLike(RED[2] * r + GREEN[2] * g + BLUE[2] * b);
    planes.L[i] = 116 * y - 16;
    planes.a[i] = 500 * (x - y);
    planes.b[i] = 200 * (y - z);
  }
  return planes;
}

const cubeRootLike = (t: number): number => (t > 216 / 24389 ? Math.cbrt(t) : ((24389 / 27) * t + 16) / 116);
