import sharp from 'sharp';
import { srgbDecodingTable } from '../../../src/base/color/srgb.ts';
import type { Picture } from '../../../src/image/picture.ts';

export interface TestPicture {
  readonly name: string;
  readonly screen: 'continuous' | 'stucki';
  readonly picture: Picture;
}

/** A shaded test picture: a wedge, a ramp, balls lit from the side and a chequer, between black and white. */
export function shaded(width: number, height: number): Picture {
  const luminance = Float32Array.from({ length: width * height }, (_, i) => {
    const [x, y] = [((i % width) + 0.5) / width, (Math.floor(i / width) + 0.5) / height];
    if (y < 0.2) return (Math.floor(8 * x) / 7) ** 2.2;
    if (y < 0.4) return x ** 2.2;
    for (let k = 0; k < 3; k++) {
      const [u, v] = [(x - (0.18 + 0.32 * k)) / 0.13, (y - 0.66) / 0.2];
      const inside = 1 - u * u - v * v;
      if (inside > 0) return 0.9 * Math.max(0.02, (-0.5 * u - 0.5 * v + Math.sqrt(inside)) / 1.3) ** 1.2;
    }
    return Math.floor(12 * x) % 2 === Math.floor(10 * y) % 2 ? 0.55 : 0.85;
  });
  return { width, height, luminance, alpha: null };
}

/** A photograph of the suite (CC0, see its generator) in grey. */
export async function photograph(file: string, width: number, height: number): Promise<Picture> {
  const { data } = await sharp(file)
    .greyscale()
    .resize(width, height, { fit: 'cover' })
    .raw()
    .toBuffer({ resolveWithObject: true });
  const table = srgbDecodingTable(8);
  return { width, height, luminance: Float32Array.from(data, (code) => table[code]), alpha: null };
}

export async function testPictures(width: number, height: number): Promise<TestPicture[]> {
  return [
    { name: 'shaded', screen: 'continuous', picture: shaded(width, height) },
    { name: 'camera', screen: 'stucki', picture: await photograph('test/fixtures/repair/camera.png', width, height) },
    {
      name: 'chelsea',
      screen: 'continuous',
      picture: await photograph('test/fixtures/repair/chelsea.png', width, height),
    },
  ];
}
