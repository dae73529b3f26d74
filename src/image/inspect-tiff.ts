import type { ByteReader } from './byte-reader.ts';
import { damaged, PictureError, truncated, unsupportedEncoding } from './picture-error.ts';
import type { PictureInfo } from './picture-info.ts';
import { ORIENTATION, orientationOf, readTiffDirectory, readTiffHeader, type TiffDirectory } from './tiff-directory.ts';

const TAG = {
  newSubfileType: 254,
  imageWidth: 256,
  imageLength: 257,
  bitsPerSample: 258,
  photometric: 262,
  stripOffsets: 273,
  stripByteCounts: 279,
  samplesPerPixel: 277,
  tileOffsets: 324,
  tileByteCounts: 325,
  extraSamples: 338,
  sampleFormat: 339,
  iccProfile: 34675,
} as const;
const WANTED = new Set<number>([...Object.values(TAG), ORIENTATION]);
/** Reduced copies that a picture may have beside it: one for each halving. */
const MOST_COPIES = 16;

/** By PhotometricInterpretation: white is zero, black is zero, RGB, palette, YCbCr. */
const MODELS: Record<number, PictureInfo['colorModel']> = { 0: 'grey', 1: 'grey', 2: 'rgb', 3: 'palette', 6: 'rgb' };
const SEPARATED = 5;

/**
 * Reads the first directory of a TIFF file and makes sure that its strips or tiles are there. Further directories may only hold
 * reduced copies of the same picture.
 * Source: TIFF Revision 6.0 (1992), sections 2–8, 15, 16, 18.
 * @throws PictureError: truncated, damaged, CMYK, several pages, unsupported encoding.
 */
export function inspectTiff(reader: ByteReader): PictureInfo {
  const { littleEndian, first } = readTiffHeader(reader);
  const { tags, next } = readTiffDirectory(reader, littleEndian, first, WANTED);
  if (hasFurtherPage(reader, littleEndian, first, next)) {
    throw new PictureError(
      'several-pages',
      'is a TIFF with several pages. Save the page you want as a PNG or JPEG of its own.',
    );
  }
  const photometric = tags.get(TAG.photometric)?.[0] ?? 1;
  if (photometric === SEPARATED) {
    throw new PictureError(
      'cmyk',
      'is a CMYK TIFF, made for a printing press. Convert it to RGB in an image editor and save it as PNG or JPEG.',
    );
  }
  const colorModel = MODELS[photometric];
  const bitDepth = tags.get(TAG.bitsPerSample)?.[0] ?? 1;
  if (!colorModel) throw unsupportedEncoding('is a TIFF in an unusual colour space');
  if (bitDepth > 16 || (tags.get(TAG.sampleFormat)?.[0] ?? 1) !== 1) {
    throw unsupportedEncoding('is a TIFF of more than 16 bits or with fractional values');
  }
  const width = tags.get(TAG.imageWidth)?.[0];
  const height = tags.get(TAG.imageLength)?.[0];
  if (width === undefined || height === undefined) throw damaged('it does not say how large it is');
  checkData(reader, tags);
  const hasAlpha = Array.from(tags.get(TAG.extraSamples) ?? []).some((kind) => kind === 1 || kind === 2);
  const hasIccProfile = tags.has(TAG.iccProfile);
  return {
    format: 'tiff',
    width,
    height,
    orientation: orientationOf(tags),
    bitDepth,
    hasAlpha,
    colorModel,
    hasIccProfile,
  };
}

function hasFurtherPage(reader: ByteReader, littleEndian: boolean, first: number, next: number): boolean {
  const seen = new Set([first]);
  for (let offset = next; offset !== 0; ) {
    if (seen.has(offset)) throw damaged('its pages run in a circle');
    seen.add(offset);
    if (seen.size > MOST_COPIES) throw damaged('it holds too many copies of itself');
    const directory = readTiffDirectory(reader, littleEndian, offset, WANTED);
    const isReducedCopy = ((directory.tags.get(TAG.newSubfileType)?.[0] ?? 0) & 1) === 1;
    if (!isReducedCopy) return true;
    offset = directory.next;
  }
  return false;
}

function checkData(reader: ByteReader, tags: TiffDirectory['tags']): void {
  const offsets = tags.get(TAG.stripOffsets) ?? tags.get(TAG.tileOffsets);
  const counts = tags.get(TAG.stripByteCounts) ?? tags.get(TAG.tileByteCounts);
  if (!offsets?.length) throw damaged('it holds no image');
  for (let i = 0; i < offsets.length; i++) {
    if (offsets[i] + (counts?.[i] ?? 1) > reader.bytes.length) throw truncated();
  }
}
