import { encodeSrgbByte } from '../../base/color/srgb.ts';
import { srgbDecodingTable } from '../../base/color/srgb-decoding.ts';
import type { FaceMap } from './face-map.ts';

/** An 8-bit RGBA picture. */
export interface Rgba {
  readonly width: number;
  readonly height: number;
  readonly data: Uint8Array;
}

/** Normals of the face from its heights: east, north, up over the codes, as glTF 2.0 (3.9.3) wants them. */
export function faceNormals({ width, height, relief, lowUm, highUm }: FaceMap, pixelMm: number): Rgba {
  const data = new Uint8Array(width * height * 4).fill(255);
  const perCode = (highUm - lowUm) / 255 / 1000 / (2 * pixelMm);
  const at = (x: number, y: number): number =>
    relief[4 * (Math.min(height - 1, Math.max(0, y)) * width + Math.min(width - 1, Math.max(0, x)))];
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      const east = (at(x + 1, y) - at(x - 1, y)) * perCode;
      const south = (at(x, y + 1) - at(x, y - 1)) * perCode;
      const length = Math.hypot(east, south, 1);
      const i = 4 * (y * width + x);
      data[i] = Math.round(127.5 - (127.5 * east) / length);
      data[i + 1] = Math.round(127.5 + (127.5 * south) / length);
      data[i + 2] = Math.round(127.5 + 127.5 / length);
    }
  }
  return { width, height, data };
}

/** Roughness of the face as glTF and USD take it, the root of the GGX alpha: in green, with no metal in blue. */
export function faceRoughness({ width, height, relief }: FaceMap): Rgba {
  const data = new Uint8Array(width * height * 4).fill(255);
  for (let i = 0; i < width * height; i++) {
    data[4 * i] = 0;
    data[4 * i + 1] = Math.round(255 * Math.sqrt(relief[4 * i + 1] / 255));
    data[4 * i + 2] = 0;
  }
  return { width, height, data };
}

/** Mirror reflection of a coat of index 1.5, which a proof's colours hold, as an instrument that includes it reads them. */
const MIRROR_SHARE = 0.04;

/** Colours without the mirror reflection, which a renderer adds itself. RGBA, sRGB. */
export function matteColors(color: Uint8Array): Uint8Array {
  const table = srgbDecodingTable(8);
  const matte = Uint8Array.from({ length: 256 }, (_, code) => encodeSrgbByte(Math.max(0, table[code] - MIRROR_SHARE)));
  return color.map((code, i) => (i % 4 === 3 ? code : matte[code]));
}

/** Steps in which the client's file tells roughness apart: nobody sees finer ones, and they would double its size. */
const ROUGHNESS_STEP = 6;

/** Heights and roughness of a face, as the client's file carries them. */
export function packedRelief({ width, height, relief }: FaceMap): Rgba {
  const data = relief.map((code, i) => {
    if (i % 4 === 1) return Math.min(255, Math.round(code / ROUGHNESS_STEP) * ROUGHNESS_STEP);
    return i % 4 === 2 ? 0 : code;
  });
  return { width, height, data };
}
