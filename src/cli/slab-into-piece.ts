import { createHash } from 'node:crypto';
import { stat } from 'node:fs/promises';
import sharp from 'sharp';
import { thinOutline } from '../base/geometry/thin-outline.ts';
import { createPiece } from '../piece/defaults.ts';
import type { PieceFile } from '../piece/file.ts';
import type { FacePicture } from '../vision/slab/face-picture.ts';
import { maskedRimOf } from '../vision/slab/masked-rim.ts';
import type { SlabReading } from '../vision/slab/slab-from-photo.ts';
import { slabPart } from '../vision/slab/slab-part.ts';
import { readPieceFile } from './read-piece.ts';

/**
 * A piece that has taken a found slab with its picture; all else in it stays.
 * @param slab and picture as they are turned in the end.
 */
export async function withSlab(
  { piece, images }: PieceFile,
  slab: SlabReading,
  picture: FacePicture,
): Promise<PieceFile> {
  const { width, height, box } = picture;
  const jpeg = await sharp(picture.rgba, { raw: { width, height, channels: 4 } })
    .removeAlpha()
    .jpeg({ quality: 90 })
    .toBuffer();
  const file = `slab-face-${createHash('sha256').update(jpeg).digest('hex').slice(0, 24)}.jpg`;
  const kept = new Map(images);
  if (piece.slab.photo) kept.delete(piece.slab.photo.file);
  kept.set(file, jpeg);
  const part = slabPart({
    outline: thinOutline(slab.outline),
    wood: { defects: slab.defects, photo: { file, box } },
    maskedRimMm: maskedRimOf(slab.zones),
  });
  return { piece: { ...piece, slab: { ...piece.slab, ...part } }, images: kept };
}

/** The piece in a file; a new one if there is no such file. @throws CliError if it cannot be read. */
export async function pieceAt(path: string): Promise<PieceFile> {
  const there = await stat(path).then(
    () => true,
    () => false,
  );
  return there ? readPieceFile(path) : { piece: createPiece('', ''), images: new Map() };
}
