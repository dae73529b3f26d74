import { createByteReader } from './byte-reader.ts';
import type { Orientation } from './orientation.ts';
import { PictureError } from './picture-error.ts';
import { ORIENTATION, orientationOf, readTiffDirectory, readTiffHeader } from './tiff-directory.ts';

const WANTED = new Set([ORIENTATION]);

/**
 * Orientation in a block of Exif data (a TIFF stream, with or without the letters `Exif` and two zero bytes before it).
 * Damaged Exif data do not make a picture unusable: they give 1, as does a block without the tag.
 * Source: Exif 2.32 (CIPA DC-008), 4.6.4 A, tag Orientation.
 */
export function readExifOrientation(block: Uint8Array): Orientation {
  const prefixed = block.length >= 6 && createByteReader(block).text(0, 4) === 'Exif';
  const reader = createByteReader(prefixed ? block.subarray(6) : block);
  try {
    const { littleEndian, first } = readTiffHeader(reader);
    return orientationOf(readTiffDirectory(reader, littleEndian, first, WANTED).tags);
  } catch (error) {
    if (error instanceof PictureError) return 1;
    throw error;
  }
}
