import type { ByteReader } from './byte-reader.ts';
import type { Orientation } from './orientation.ts';
import { damaged } from './picture-error.ts';

/** One image file directory of a TIFF stream: its tags, and where the next one starts (0: nowhere). */
export interface TiffDirectory {
  readonly tags: ReadonlyMap<number, readonly number[]>;
  readonly next: number;
}

/** Bytes of a value by field type, 0 for unused numbers. */
const SIZES = [0, 1, 1, 2, 4, 8, 1, 1, 2, 4, 8, 4, 8, 4];
/** Field types whose values are read: short, long, offset. Other tags are listed without values. */
const READ = new Set([3, 4, 13]);

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

/** Reads the directory at `offset`. @throws PictureError if it reaches beyond the end. */
export function readTiffDirectory(reader: ByteReader, littleEndian: boolean, offset: number): TiffDirectory {
  const tags = new Map<number, number[]>();
  const entries = reader.uint16(offset, littleEndian);
  for (let i = 0; i < entries; i++) {
    const entry = offset + 2 + i * 12;
    const tag = reader.uint16(entry, littleEndian);
    const type = reader.uint16(entry + 2, littleEndian);
    const size = SIZES[type] ?? 0;
    const count = reader.uint32(entry + 4, littleEndian);
    const at = size * count <= 4 ? entry + 8 : reader.uint32(entry + 8, littleEndian);
    reader.mustReach(at + size * count);
    if (!READ.has(type)) {
      tags.set(tag, []);
      continue;
    }
    const value = size === 2 ? reader.uint16 : reader.uint32;
    const values: number[] = [];
    for (let k = 0; k < count; k++) values.push(value(at + k * size, littleEndian));
    tags.set(tag, values);
  }
  return { tags, next: reader.uint32(offset + 2 + entries * 12, littleEndian) };
}

const ORIENTATION = 274;

/** The orientation in a directory's tags; 1 if it says none or nonsense. */
export function orientationOf(tags: TiffDirectory['tags']): Orientation {
  const value = tags.get(ORIENTATION)?.[0] ?? 1;
  return value >= 1 && value <= 8 ? (value as Orientation) : 1;
}
