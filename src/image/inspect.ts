import { inMiB, LIMITS } from '../base/limits.ts';
import { type ByteReader, createByteReader } from './byte-reader.ts';
import { inspectJpeg } from './inspect-jpeg.ts';
import { inspectPng } from './inspect-png.ts';
import { inspectTiff } from './inspect-tiff.ts';
import { inspectWebp } from './inspect-webp.ts';
import { PictureError } from './picture-error.ts';
import type { PictureFormat, PictureInfo } from './picture-info.ts';
import { nameUnsupportedFormat } from './unsupported-formats.ts';

/** What the page can decode, and the command line. */
export const PAGE_FORMATS: readonly PictureFormat[] = ['png', 'jpeg', 'webp'];
export const ALL_FORMATS: readonly PictureFormat[] = [...PAGE_FORMATS, 'tiff'];

/**
 * Looks a picture file over before it is decoded: what it is, how large, which way up, and whether all of it is there.
 * @param bytes the whole file. @param formats those that whoever asks can decode.
 * @throws PictureError with the reason and the way out, if the file cannot be used.
 */
export function inspectPicture(bytes: Uint8Array, formats: readonly PictureFormat[]): PictureInfo {
  if (bytes.length === 0) {
    throw new PictureError('empty', 'is empty. Copy or download it again from where it came.');
  }
  if (bytes.length > LIMITS.pictureBytes) {
    throw new PictureError('too-large', `is larger than ${inMiB(LIMITS.pictureBytes)}. Save it as JPEG.`);
  }
  const info = readHead(bytes, formats);
  const { width, height } = info;
  if (width === 0 || height === 0) {
    throw new PictureError('zero-sized', `has no pixels (${width} × ${height}). Export it again from where it came.`);
  }
  if (width * height > LIMITS.pixels) {
    const megapixels = Math.ceil((width * height) / 1e6);
    throw new PictureError(
      'too-large',
      `has ${megapixels} megapixels; up to ${LIMITS.pixels / 1e6} can be used. Make it smaller in an image editor: ` +
        'a burn shows at most some twelve dots per millimetre.',
    );
  }
  return info;
}

function readHead(bytes: Uint8Array, formats: readonly PictureFormat[]): PictureInfo {
  const reader = createByteReader(bytes);
  const format = formatOf(reader.text(0, Math.min(12, bytes.length)));
  if (format === null || !formats.includes(format)) throw nameUnsupportedFormat(reader, formats);
  return INSPECT[format](reader);
}

const INSPECT: Readonly<Record<PictureFormat, (reader: ByteReader) => PictureInfo>> = {
  jpeg: inspectJpeg,
  png: inspectPng,
  webp: inspectWebp,
  tiff: inspectTiff,
};

function formatOf(head: string): PictureFormat | null {
  if (head.startsWith('\xff\xd8\xff')) return 'jpeg';
  if (head.startsWith('\x89PNG\r\n\x1a\n')) return 'png';
  if (head.startsWith('RIFF') && head.slice(8) === 'WEBP') return 'webp';
  if (head.startsWith('II*\0') || head.startsWith('MM\0*')) return 'tiff';
  return null;
}
