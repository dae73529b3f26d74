import { strFromU8, strToU8, zipSync } from 'fflate';
import { inMiB, LIMITS } from '../base/limits.ts';
import { PieceError, parsePiece } from './parse.ts';
import type { Piece } from './schema.ts';
import { sealZip, unzip, ZipError } from './zip.ts';

/** A piece with the images it uses, as kept in a `.foreburn` file: a zip of `piece.json` and `images/…`. */
export interface PieceFile {
  readonly piece: Piece;
  readonly images: ReadonlyMap<string, Uint8Array>;
}

const PIECE_ENTRY = 'piece.json';
const IMAGE_FOLDER = 'images/';
/** Zip entries carry a time; a fixed one makes equal pieces equal files. */
const FIXED_TIME = '1980-01-01T00:00:00';

/**
 * Packs a piece. Images are stored as they are: photographs do not shrink.
 * @throws PieceError if it is more than a file of its kind may hold: it could not be opened again.
 */
export const encodePieceFile = ({ piece, images }: PieceFile): Uint8Array =>
  packPieceText(`${JSON.stringify(piece, null, 2)}\n`, images);

/** Packs the JSON of a piece as it is, even one that cannot be read here. @throws PieceError like `encodePieceFile`. */
export function packPieceText(json: string, images: PieceFile['images']): Uint8Array {
  const text = strToU8(json);
  let total = text.length;
  const entries: Record<string, [Uint8Array, { level: 0 | 6; mtime: string }]> = {
    [PIECE_ENTRY]: [text, { level: 6, mtime: FIXED_TIME }],
  };
  for (const [name, bytes] of images) {
    entries[IMAGE_FOLDER + name] = [bytes, { level: 0, mtime: FIXED_TIME }];
    total += bytes.length;
  }
  if (total > LIMITS.pieceBytes) {
    throw new PieceError([
      `it has more than ${inMiB(LIMITS.pieceBytes)} with its pictures; take pictures out of its log, or a smaller photograph`,
    ]);
  }
  return sealZip(zipSync(entries));
}

/**
 * Reads a `.foreburn` file, or a bare `piece.json`.
 * @throws PieceError if it is neither, is damaged, or the piece in it is not valid.
 */
export function decodePieceFile(bytes: Uint8Array): PieceFile {
  if (bytes.length === 0) throw new PieceError(['the file is empty']);
  if (bytes.length > LIMITS.pieceBytes) throw new PieceError([`the file is larger than ${inMiB(LIMITS.pieceBytes)}`]);
  const zipped = bytes[0] === 0x50 && bytes[1] === 0x4b;
  if (!zipped) return { piece: parsePiece(textOf(bytes)), images: new Map() };
  let entries: Map<string, Uint8Array>;
  try {
    entries = unzip(bytes, (name) => name === PIECE_ENTRY || name.startsWith(IMAGE_FOLDER));
  } catch (error) {
    if (!(error instanceof ZipError)) throw error;
    throw new PieceError([`the file is damaged: it cannot be unpacked (${error.message})`]);
  }
  const piece = entries.get(PIECE_ENTRY);
  if (!piece) throw new PieceError([`this is not a Foreburn piece: it holds no ${PIECE_ENTRY}`]);
  const images = new Map<string, Uint8Array>();
  for (const [name, data] of entries) {
    if (name.startsWith(IMAGE_FOLDER)) images.set(name.slice(IMAGE_FOLDER.length), data);
  }
  return { piece: parsePiece(textOf(piece)), images };
}

/** @throws PieceError before a text is made of what is too long for one. */
function textOf(bytes: Uint8Array): string {
  if (bytes.length > LIMITS.documentBytes) {
    throw new PieceError([`the piece is damaged: its JSON is larger than ${inMiB(LIMITS.documentBytes)}`]);
  }
  return strFromU8(bytes);
}
