import sharp from 'sharp';
import { createPiece } from '../../src/piece/defaults.ts';
import { encodePieceFile } from '../../src/piece/file.ts';

/** A flat photograph of a lightness of its own, as JPEG. */
export const flatPhoto = (grey: number, width = 60, height = 45): Promise<Buffer> =>
  sharp({ create: { width, height, channels: 3, background: { r: grey, g: grey, b: grey } } })
    .jpeg()
    .toBuffer();

/** A piece of a few millimetres as a file, so that its proofs take no time. */
export async function tinyPiece(name: string, grey = 200): Promise<Buffer> {
  const piece = createPiece(name, `${name}.jpg`);
  const tiny = {
    ...piece,
    slab: { ...piece.slab, widthMm: 30, heightMm: 24 },
    picture: { ...piece.picture, widthMm: 8 },
  };
  const images = new Map([[`${name}.jpg`, new Uint8Array(await flatPhoto(grey))]]);
  return Buffer.from(encodePieceFile({ piece: tiny, images }));
}
