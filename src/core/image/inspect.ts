import { createByteReader } from './byte-reader.ts';
import { inspectJpeg } from './inspect-jpeg.ts';
import { inspectPng } from './inspect-png.ts';
import { inspectTiff } from './inspect-tiff.ts';
import { inspectWebp } from './inspect-webp.ts';
import { PictureError } from './picture-error.ts';
import type { PictureInfo } from './picture-info.ts';
import { nameUnsupportedFormat } from './unsupported-formats.ts';

/** Larger pictures would not fit into memory beside the burn. */
export const MOST_PIXELS = 200e6;

/**
 * Looks a picture file over before it is decoded: what it is, how large, which way up, and whether all of it is there.
 * @param bytes the whole file.
 * @throws PictureError with the reason and the way out, if the file cannot be used.
 */
export function inspectPicture(bytes: Uint8Array): PictureInfo {
  if (bytes.length === 0) {
    throw new PictureError('empty', 'is empty. Copy or download it again from where it came.');
  }
  const info = readHead(bytes);
  const { width, height } = info;
  if (width === 0 || height === 0) {
    throw new PictureError('zero-sized', `has no pixels (${width} × ${height}). Export it again from where it came.`);
  }
  if (width * height > MOST_PIXELS) {
    const megapixels = Math.ceil((width * height) / 1e6);
    throw new PictureError(
      'too-large',
      `has ${megapixels} megapixels; up to ${MOST_PIXELS / 1e6} can be used. Make it smaller in an image editor: ` +
        'a burn shows at most some twelve dots per millimetre.',
    );
  }
  return info;
}

function readHead(bytes: Uint8Array): PictureInfo {
  const reader = createByteReader(bytes);
  const head = reader.text(0, Math.min(12, bytes.length));
  if (head.startsWith('\xff\xd8\xff')) return inspectJpeg(reader);
  if (head.startsWith('\x89PNG\r\n\x1a\n')) return inspectPng(reader);
  if (head.startsWith('RIFF') && head.slice(8) === 'WEBP') return inspectWebp(reader);
  if (head.startsWith('II*\0') || head.startsWith('MM\0*')) return inspectTiff(reader);
  throw nameUnsupportedFormat(reader);
}
