import { Inflate, strFromU8, strToU8, zipSync } from 'fflate';
import { ARCHIVE_TIME, crc32 } from '../base/aligned-zip.ts';
import { fitProblems, InputError, inMiB, LIMITS } from '../base/input-error.ts';
import { checkDocument, parseJson, show } from '../base/json-document.ts';
import { migratePiece, type PieceJson } from './migrations.ts';
import { PIECE_VERSION, type Piece, pieceSchema } from './schema.ts';

/** A piece with the images it uses, as kept in a `.foreburn` file: a zip of `piece.json` and `images/…`. */
export interface PieceFile {
  readonly piece: Piece;
  readonly images: ReadonlyMap<string, Uint8Array>;
}

const PIECE_ENTRY = 'piece.json';

const IMAGE_FOLDER = 'images/';

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
    [PIECE_ENTRY]: [text, { level: 6, mtime: ARCHIVE_TIME }],
  };
  for (const [name, bytes] of images) {
    entries[IMAGE_FOLDER + name] = [bytes, { level: 0, mtime: ARCHIVE_TIME }];
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

/** Why a zip cannot be unpacked. */
export class ZipError extends InputError {}

/**
 * What follows the end of a zip of ours, as its comment: a checksum of every byte before it. So not one flipped bit goes unseen, not even
 * one that changes nothing (a time, the bits left over behind packed data).
 */
const SEAL = 'foreburn crc32 ';

const SEAL_LENGTH = SEAL.length + 8;

const END = { signature: 0x06054b50, length: 22 } as const;

const CENTRAL = { signature: 0x02014b50, length: 46 } as const;

const LOCAL = { signature: 0x04034b50, length: 30 } as const;

const DESCRIPTOR = { signature: 0x08074b50, length: 12 } as const;

/** Flags that change nothing for us: how hard it was packed, sizes after the data, names in UTF-8. */
const FLAGS = { packing: 6, descriptor: 8, utf8: 0x800 } as const;

/** Deflate makes of a byte no more than this many (RFC 1951: 258 from two bits). */
const MOST_GROWTH = 1032;

/** Packed bytes that are unpacked in one go, so that what claims to be small is stopped before it is large. */
const STEP = 16384;

interface Entry {
  readonly name: string;
  readonly flags: number;
  readonly method: number;
  readonly sum: number;
  readonly packed: number;
  readonly size: number;
  readonly offset: number;
  /** Fields that stand before the data too: version, flags, method, time, date. */
  readonly twice: readonly number[];
}

/** Closes a zip with a checksum of all of it. */
export function sealZip(zip: Uint8Array): Uint8Array {
  const sealed = new Uint8Array(zip.length + SEAL_LENGTH);
  sealed.set(zip);
  new DataView(sealed.buffer).setUint16(zip.length - 2, SEAL_LENGTH, true);
  sealed.set(strToU8(SEAL), zip.length);
  sealed.set(strToU8(sumOf(sealed)), sealed.length - 8);
  return sealed;
}

const sumOf = (sealed: Uint8Array): string =>
  crc32(sealed.subarray(0, sealed.length - 8))
    .toString(16)
    .padStart(8, '0');

/**
 * Unpacks the entries that are wanted. Only zips that are whole and say the same wherever they say it twice are taken: entries one behind
 * the other without gaps or overlaps, no name twice, sizes and checksums right, a seal, if there is one, right. A zip that another
 * program wrote has no seal; there the fields that say who made it and what its attributes are stand unchecked.
 * Source: PKWARE, .ZIP File Format Specification 6.3.10, 4.3 and 4.4.
 * @throws ZipError with the reason; before anything is unpacked if it is too large.
 */
export function unzip(bytes: Uint8Array, wanted: (name: string) => boolean): Map<string, Uint8Array> {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const end = findEnd(bytes, view);
  const entries = readDirectory(bytes, view, end);
  checkLayout(bytes, view, entries, view.getUint32(end + 16, true));
  const found = new Map<string, Uint8Array>();
  for (const entry of entries) {
    if (wanted(entry.name)) found.set(entry.name, unpack(bytes.subarray(...dataOf(view, entry)), entry));
  }
  return found;
}

function findEnd(bytes: Uint8Array, view: DataView): number {
  for (const comment of [0, SEAL_LENGTH]) {
    const at = bytes.length - END.length - comment;
    if (at < 0 || view.getUint32(at, true) !== END.signature || view.getUint16(at + 20, true) !== comment) continue;
    if (comment === 0) return at;
    const seal = strFromU8(bytes.subarray(at + END.length), true);
    if (seal === SEAL + sumOf(bytes)) return at;
    throw new ZipError('it is not as it was saved: the checksum over all of it is wrong');
  }
  throw new ZipError('it is cut off, or its end is damaged');
}

function readDirectory(bytes: Uint8Array, view: DataView, end: number): Entry[] {
  const count = view.getUint16(end + 10, true);
  const length = view.getUint32(end + 12, true);
  const start = view.getUint32(end + 16, true);
  if (view.getUint32(end + 4, true) !== 0 || view.getUint16(end + 8, true) !== count || start + length !== end) {
    throw new ZipError('its list of files is damaged');
  }
  if (count > LIMITS.zipEntries) throw new ZipError(`it holds more than ${LIMITS.zipEntries} files`);
  const entries: Entry[] = [];
  const names = new Set<string>();
  let total = 0;
  let at = start;
  for (let i = 0; i < count; i++) {
    if (at + CENTRAL.length > end || view.getUint32(at, true) !== CENTRAL.signature) {
      throw new ZipError('its list of files is damaged');
    }
    const nameEnd = at + CENTRAL.length + view.getUint16(at + 28, true);
    const next = nameEnd + view.getUint16(at + 30, true) + view.getUint16(at + 32, true);
    if (next > end) throw new ZipError('its list of files is damaged');
    const flags = view.getUint16(at + 8, true);
    const name = strFromU8(bytes.subarray(at + CENTRAL.length, nameEnd), (flags & FLAGS.utf8) === 0);
    const entry: Entry = {
      name,
      flags,
      method: view.getUint16(at + 10, true),
      sum: view.getUint32(at + 16, true),
      packed: view.getUint32(at + 20, true),
      size: view.getUint32(at + 24, true),
      offset: view.getUint32(at + 42, true),
      twice: [0, 2, 4, 6, 8].map((field) => view.getUint16(at + 6 + field, true)),
    };
    checkEntry(entry);
    if (names.has(name)) throw new ZipError(`it holds "${name}" twice`);
    names.add(name);
    total += entry.size;
    if (total > LIMITS.pieceBytes) throw new ZipError(`it unpacks to more than ${inMiB(LIMITS.pieceBytes)}`);
    entries.push(entry);
    at = next;
  }
  if (at !== end) throw new ZipError('its list of files is damaged');
  return entries;
}

function checkEntry({ name, flags, method, packed, size }: Entry): void {
  if (name.length > LIMITS.pathLength) throw new ZipError(`a name in it is longer than ${LIMITS.pathLength} letters`);
  if ((flags & 1) !== 0) throw new ZipError(`"${name}" is locked with a password`);
  if ((flags & ~(FLAGS.packing | FLAGS.descriptor | FLAGS.utf8)) !== 0 || (method !== 0 && method !== 8)) {
    throw new ZipError(`"${name}" is packed in a way that cannot be read here`);
  }
  if (method === 0 ? packed !== size : size > packed * MOST_GROWTH)
    throw new ZipError(`the size of "${name}" is wrong`);
}

/** Makes sure that entries fill the file up to the list without gaps or overlaps, and say before their data what the list says. */
function checkLayout(bytes: Uint8Array, view: DataView, entries: readonly Entry[], directory: number): void {
  let at = 0;
  for (const entry of [...entries].sort((a, b) => a.offset - b.offset)) {
    const wrong = () =>
      new ZipError(`"${entry.name}" does not lie where the list of files says, or says something else`);
    const header = entry.offset;
    if (header !== at || header + LOCAL.length > directory || view.getUint32(header, true) !== LOCAL.signature) {
      throw wrong();
    }
    const later = (entry.flags & FLAGS.descriptor) !== 0;
    const same = entry.twice.every((value, i) => view.getUint16(header + 4 + 2 * i, true) === value);
    const [from, to] = dataOf(view, entry);
    const name = bytes.subarray(header + LOCAL.length, header + LOCAL.length + view.getUint16(header + 26, true));
    if (!same || to > directory || strFromU8(name, (entry.flags & FLAGS.utf8) === 0) !== entry.name) throw wrong();
    if (!(later ? zeroed(view, header + 14) : saysSizes(view, header + 14, entry)) || from > to) throw wrong();
    at = to;
    if (!later) continue;
    if (at + 4 <= directory && view.getUint32(at, true) === DESCRIPTOR.signature) at += 4;
    if (at + DESCRIPTOR.length > directory || !saysSizes(view, at, entry)) throw wrong();
    at += DESCRIPTOR.length;
  }
  if (at !== directory) throw new ZipError('something lies in it that is not in its list of files');
}

const saysSizes = (view: DataView, at: number, { sum, packed, size }: Entry): boolean =>
  [sum, packed, size].every((value, i) => view.getUint32(at + 4 * i, true) === value);

const zeroed = (view: DataView, at: number): boolean =>
  [0, 4, 8].every((field) => view.getUint32(at + field, true) === 0);

/** Where the data of an entry begin and end. */
function dataOf(view: DataView, { offset, packed }: Entry): [from: number, to: number] {
  const from = offset + LOCAL.length + view.getUint16(offset + 26, true) + view.getUint16(offset + 28, true);
  return [from, from + packed];
}

function unpack(packed: Uint8Array, { name, method, size, sum }: Entry): Uint8Array {
  const data = method === 0 ? packed.slice() : inflate(packed, name, size);
  if (crc32(data) !== sum) throw new ZipError(`the checksum of "${name}" is wrong`);
  return data;
}

function inflate(packed: Uint8Array, name: string, size: number): Uint8Array {
  const data = new Uint8Array(size);
  let at = 0;
  const stream = new Inflate((chunk) => {
    if (at + chunk.length > size) throw new ZipError(`"${name}" is larger than the list of files says`);
    data.set(chunk, at);
    at += chunk.length;
  });
  try {
    for (let from = 0; from < packed.length || from === 0; from += STEP) {
      stream.push(packed.subarray(from, from + STEP), from + STEP >= packed.length);
    }
  } catch (error) {
    throw error instanceof ZipError ? error : new ZipError(`the packed data of "${name}" are damaged`);
  }
  if (at !== size) throw new ZipError(`"${name}" is smaller than the list of files says`);
  return data;
}

/** What is wrong with a piece; the message names the place and the way out. The caller puts the file's name in front. */
export class PieceError extends InputError {
  /** As many as a message holds; the last one may say how many more there are. */
  readonly problems: readonly string[];
  constructor(problems: readonly string[], count = problems.length) {
    const fitting = fitProblems(problems, count);
    super(fitting.join('; '));
    this.problems = fitting;
  }
}

/**
 * Checks and, if it is older, migrates a piece given as JSON text.
 * @throws PieceError naming every problem: damaged JSON, not a piece, a newer version, unknown fields, values out of range.
 */
export function parsePiece(text: string): Piece {
  return checkPiece(parseJson(text, ([reason]) => new PieceError([`the piece is damaged: ${reason}`])));
}

/** Like `parsePiece`, for parsed JSON. */
export function checkPiece(json: unknown): Piece {
  if (typeof json !== 'object' || json === null || (json as Record<string, unknown>)['format'] !== 'foreburn') {
    throw new PieceError(['this is not a Foreburn piece: it lacks "format": "foreburn"']);
  }
  const version = (json as PieceJson)['version'];
  if (typeof version !== 'number' || !Number.isInteger(version) || version < 1) {
    throw new PieceError([`version: must be a whole number from 1 to ${PIECE_VERSION}, got ${show(version)}`]);
  }
  if (version > PIECE_VERSION) {
    throw new PieceError([
      `the piece was saved by a newer Foreburn (version ${version}, this one reads up to ${PIECE_VERSION}); update Foreburn to open it`,
    ]);
  }
  const piece = migratePiece(json as PieceJson, version, PIECE_VERSION);
  return checkDocument(pieceSchema, piece, 'the piece', (problems, count) => new PieceError(problems, count));
}
