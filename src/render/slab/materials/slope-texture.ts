import {
  DataTexture,
  LinearFilter,
  LinearMipmapLinearFilter,
  LinearMipmapNearestFilter,
  RepeatWrapping,
  RGBAFormat,
  UnsignedByteType,
} from 'three';

/**
 * A repeating square tile of heights 0…1 as a texture: slopes east and south around 0.5, their mean square, and the height. Slopes
 * are ±1 at most: as shares of the tile's steepest.
 */
export function createSlopeTexture(height: Float32Array, size: number, anisotropy: number): DataTexture {
  const at = (x: number, y: number): number => height[((y + size) % size) * size + ((x + size) % size)];
  const slopes = new Float32Array(size * size * 2);
  let steepest = 1e-9;
  for (let y = 0; y < size; y++) {
    for (let x = 0; x < size; x++) {
      const i = 2 * (y * size + x);
      slopes[i] = at(x + 1, y) - at(x - 1, y);
      slopes[i + 1] = at(x, y + 1) - at(x, y - 1);
      steepest = Math.max(steepest, Math.abs(slopes[i]), Math.abs(slopes[i + 1]));
    }
  }
  const data = new Uint8Array(size * size * 4);
  for (let i = 0; i < size * size; i++) {
    const east = slopes[2 * i] / steepest;
    const south = slopes[2 * i + 1] / steepest;
    data[4 * i] = Math.round(127.5 + 127.5 * east);
    data[4 * i + 1] = Math.round(127.5 + 127.5 * south);
    data[4 * i + 2] = Math.round(127.5 * (east * east + south * south));
    data[4 * i + 3] = Math.round(255 * height[i]);
  }
  const texture = new DataTexture(data, size, size, RGBAFormat, UnsignedByteType);
  texture.wrapS = RepeatWrapping;
  texture.wrapT = RepeatWrapping;
  texture.magFilter = LinearFilter;
  // Without anisotropy a software renderer draws, which pays for every texel.
  texture.minFilter = anisotropy > 1 ? LinearMipmapLinearFilter : LinearMipmapNearestFilter;
  texture.generateMipmaps = true;
  texture.anisotropy = anisotropy;
  texture.needsUpdate = true;
  return texture;
}
