import { strFromU8, strToU8, unzipSync, zipSync } from 'fflate';
import { PieceError, parsePiece } from './parse.ts';
import type { Piece } from './schema.ts';

/** A piece with the images it uses, as kept in a `.foreburn` file: a zip of `piece.json` and `images/…`. */
export interface PieceFile {
  readonly piece: Piece;
  readonly images: ReadonlyMap<string, Uint8Array>;
}

const PIECE_ENTRY = 'piece.json';
const IMAGE_FOLDER = 'images/';
/** Zip entries carry a time; a fixed one makes equal pieces equal files. */
const FIXED_TIME = '1980-01-01T00:00:00';
/** Uncompressed size up to which a file is read; beyond it the file is taken for damaged or hostile. */
const LARGEST_BYTES = 1 << 30;

/** Packs a piece. Images are stored as they are: photographs do not shrink. */
export const encodePieceFile = ({ piece, images }: PieceFile): Uint8Array =>
  packPieceText(`${JSON.stringify(piece, null, 2)}\n`, images);

/** Packs the JSON of a piece as it is, even one that cannot be read here. */
export function packPieceText(text: string, images: PieceFile['images']): Uint8Array {
  const entries: Record<string, [Uint8Array, { level: 0 | 6; mtime: string }]> = {
    [PIECE_ENTRY]: [strToU8(text), { level: 6, mtime: FIXED_TIME }],
  };
  for (const [name, bytes] of images) entries[IMAGE_FOLDER + name] = [bytes, { level: 0, mtime: FIXED_TIME }];
  return zipSync(entries);
}

/**
 * Reads a `.foreburn` file, or a bare `piece.json`.
 * @throws PieceError if it is neither, is damaged, or the piece in it is not valid.
 */
export function decodePieceFile(bytes: Uint8Array): PieceFile {
  if (bytes.length === 0) throw new PieceError(['the file is empty']);
  const zipped = bytes[0] === 0x50 && bytes[1] === 0x4b;
  if (!zipped) return { piece: parsePiece(strFromU8(bytes)), images: new Map() };
  let entries: Record<string, Uint8Array>;
  let total = 0;
  try {
    entries = unzipSync(bytes, {
      filter: (entry) => {
        total += entry.originalSize;
        if (total > LARGEST_BYTES) throw new Error('it unpacks to more than 1 GiB');
        return true;
      },
    });
  } catch (error) {
    throw new PieceError([`the file is damaged: it cannot be unpacked (${(error as Error).message})`]);
  }
  if (!entries[PIECE_ENTRY]) throw new PieceError([`this is not a Foreburn piece: it holds no ${PIECE_ENTRY}`]);
  const images = new Map<string, Uint8Array>();
  for (const [name, data] of Object.entries(entries)) {
    if (name.startsWith(IMAGE_FOLDER)) images.set(name.slice(IMAGE_FOLDER.length), data);
  }
  return { piece: parsePiece(strFromU8(entries[PIECE_ENTRY])), images };
}
