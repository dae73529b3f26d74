import { LIMITS } from '../base/limits.ts';
import { linearise } from '../image/linearise.ts';
import type { DecodedPhoto } from '../image/picture.ts';
import { pixelsToSrgb } from '../image/profile/to-srgb.ts';
import { castlessPicture } from '../image/repair/castless.ts';
import { decodePicture } from './decode-picture.ts';
import { readBytes } from './read-bytes.ts';

/**
 * Decodes a photograph: JPEG, PNG, WebP, TIFF; embedded profiles are converted to sRGB as the page converts them, EXIF orientation is
 * applied.
 * @throws CliError naming the file and the reason.
 */
export const readPhoto = async (path: string): Promise<DecodedPhoto> =>
  decodePhoto(await readBytes(path, LIMITS.pictureBytes), path);

/** @param name what errors call the file. */
export async function decodePhoto(bytes: Uint8Array, name: string): Promise<DecodedPhoto> {
  const isDeep = (bitDepth: number): boolean => bitDepth > 8;
  const { header, data, info, profile } = await decodePicture(bytes, name, (image, { bitDepth }) =>
    image.toColourspace(isDeep(bitDepth) ? 'rgb16' : 'srgb').raw({ depth: isDeep(bitDepth) ? 'ushort' : 'uchar' }),
  );
  const encoded = isDeep(header.bitDepth)
    ? new Uint16Array(data.buffer, data.byteOffset, data.byteLength / 2)
    : new Uint8Array(data.buffer, data.byteOffset, data.byteLength);
  const raw = { width: info.width, height: info.height, channels: info.channels as 1 | 2 | 3 | 4, data: encoded };
  const pixels = profile ? pixelsToSrgb(raw, profile) : raw;
  return { picture: linearise(pixels), castless: castlessPicture(pixels) };
}
