import type { ByteReader } from './byte-reader.ts';
import { PictureError } from './picture-error.ts';
import type { PictureFormat } from './picture-info.ts';

const NAMES: Readonly<Record<PictureFormat, string>> = { png: 'PNG', jpeg: 'JPEG', webp: 'WebP', tiff: 'TIFF' };

/**
 * The error for a file that is none of the formats that are read: names it where its first bytes give it away, so that the maker knows
 * what to do.
 */
export function nameUnsupportedFormat(reader: ByteReader, formats: readonly PictureFormat[]): PictureError {
  const head = reader.text(0, Math.min(512, reader.bytes.length));
  const name = formatName(head);
  if (!name) {
    return new PictureError(
      'not-a-picture',
      `is not a picture that can be read here. Use a ${listed(formats.map((format) => NAMES[format]))} file.`,
    );
  }
  const [what, why] = name;
  return new PictureError(
    'unsupported-format',
    `is ${what}, ${why}. Open it in an image editor and save it as PNG or JPEG.`,
  );
}

const listed = (names: readonly string[]): string => `${names.slice(0, -1).join(', ')} or ${names.at(-1)}`;

function formatName(head: string): readonly [what: string, why: string] | null {
  if (/^GIF8[79]a/.test(head)) return ['a GIF', 'which holds too few tones for a photograph'];
  if (head.startsWith('BM')) return ['a BMP', 'which cannot be read here'];
  if (head.startsWith('%PDF')) return ['a PDF', 'which is a document and not a photograph'];
  if (/^(\xef\xbb\xbf)?\s*(<\?xml[^>]*>\s*)?(<!--[\s\S]*?-->\s*)?(<!DOCTYPE svg[^>]*>\s*)?<svg[\s>]/.test(head)) {
    return ['an SVG', 'which is a drawing and not a photograph'];
  }
  if (/^[\s\S]{4}ftyp(avif|avis)/.test(head)) return ['an AVIF', 'which cannot be read here'];
  if (/^[\s\S]{4}ftyp(hei[cfsmx]|hev[cmsx]|mif1|msf1)/.test(head)) return ['a HEIC', 'which cannot be read here'];
  if (head.startsWith('\0\0\0\x0cJXL ') || head.startsWith('\xff\x0a'))
    return ['a JPEG XL', 'which cannot be read here'];
  if (head.startsWith('\0\0\0\x0cjP  ') || head.startsWith('\xff\x4f\xff\x51'))
    return ['a JPEG 2000', 'which cannot be read here'];
  // Only where it is none of the formats that are read.
  if (head.startsWith('II*\0') || head.startsWith('MM\0*')) return ['a TIFF', 'which cannot be read here'];
  if (head.startsWith('II+\0') || head.startsWith('MM\0+')) return ['a BigTIFF', 'which cannot be read here'];
  return null;
}
