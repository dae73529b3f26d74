import type { ByteReader } from './byte-reader.ts';
import type { Orientation } from './orientation.ts';
import { damaged } from './picture-error.ts';

/** One image file directory of a TIFF stream: its tags, and where the next one starts (0: nowhere). */
export interface TiffDirectory {
  readonly tags: ReadonlyMap<number, ArrayLike<number>>;
  readonly next: number;
}

/** Bytes of a value by field type, 0 for unused numbers. */
const SIZES = [0, 1, 1, 2, 4, 8, 1, 1, 2, 4, 8, 4, 8, 4];
/** Field types whose values are read: short, long, offset. Other tags are listed without values. */
const READ = new Set([3, 4, 13]);
/** Values of one tag: more than the largest picture has tiles of 16 × 16. */
const MOST_VALUES = 1 << 20;

/**
 * Reads the byte order and where the first directory starts.
 * Source: TIFF Revision 6.0 (1992), section 2.
 * @throws PictureError if it is no TIFF stream.
 */
export function readTiffHeader(reader: ByteReader): { littleEndian: boolean; first: number } {
  const order = reader.text(0, 2);
  const littleEndian = order === 'II';
  if ((!littleEndian && order !== 'MM') || reader.uint16(2, littleEndian) !== 42) throw damaged('no TIFF header');
  return { littleEndian, first: reader.uint32(4, littleEndian) };
}

/**
 * Reads the directory at `offset`, of it the tags that are wanted: entries may all point to the same bytes, so that the values of all of
 * them together can be many times the file. A tag that comes again is passed over.
 * @throws PictureError if it reaches beyond the end or holds more values than any picture needs.
 */
export function readTiffDirectory(
  reader: ByteReader,
  littleEndian: boolean,
  offset: number,
  wanted: ReadonlySet<number>,
): TiffDirectory {
  const tags = new Map<number, Uint32Array>();
  const entries = reader.uint16(offset, littleEndian);
  for (let i = 0; i < entries; i++) {
    const entry = offset + 2 + i * 12;
    const tag = reader.uint16(entry, littleEndian);
    const type = reader.uint16(entry + 2, littleEndian);
    const size = SIZES[type] ?? 0;
    const count = reader.uint32(entry + 4, littleEndian);
    const at = size * count <= 4 ? entry + 8 : reader.uint32(entry + 8, littleEndian);
    reader.mustReach(at + size * count);
    if (!wanted.has(tag) || tags.has(tag)) continue;
    const length = READ.has(type) ? count : 0;
    if (length > MOST_VALUES) throw damaged('a list in it is too long');
    const value = size === 2 ? reader.uint16 : reader.uint32;
    const values = new Uint32Array(length);
    for (let k = 0; k < length; k++) values[k] = value(at + k * size, littleEndian);
    tags.set(tag, values);
  }
  return { tags, next: reader.uint32(offset + 2 + entries * 12, littleEndian) };
}

export const ORIENTATION = 274;

/** The orientation in a directory's tags; 1 if it says none or nonsense. */
export function orientationOf(tags: TiffDirectory['tags']): Orientation {
  const value = tags.get(ORIENTATION)?.[0] ?? 1;
  return value >= 1 && value <= 8 ? (value as Orientation) : 1;
}
