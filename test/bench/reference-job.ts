import { createGenerator } from '../../src/base/random/generator.ts';
import type { Picture } from '../../src/image/picture.ts';
import { createPiece } from '../../src/piece/defaults.ts';
import type { Piece } from '../../src/piece/schema.ts';

/** Reference job R: 200 × 250 mm at 0.08 mm pitch, two coats, three sub-rows; `share` scales its area. */
export function referencePiece(share: number): Piece {
  const piece = createPiece('Reference job', 'grain.jpg');
  const scale = Math.sqrt(share);
  return {
    ...piece,
    slab: { ...piece.slab, shape: 'rectangle', widthMm: 400, heightMm: 400 },
    picture: { ...piece.picture, widthMm: 200 * scale, crop: 'rectangle' },
    passes: piece.passes.map((pass) => ({ ...pass, rowPitchMm: 0.08 })),
  };
}

/** A picture with gradients, edges and grain, 1200 × 1500. */
export function referencePicture(): Picture {
  const width = 1200;
  const height = 1500;
  const random = createGenerator(7);
  const luminance = new Float32Array(width * height);
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      const wave = 0.5 + 0.5 * Math.sin(x / 37) * Math.cos(y / 53);
      const edge = ((x >> 7) + (y >> 7)) & 1 ? 0.25 : 0;
      luminance[y * width + x] = Math.min(1, Math.max(0, 0.7 * wave + edge + 0.05 * random.nextNormal()));
    }
  }
  return { width, height, luminance, alpha: null };
}
