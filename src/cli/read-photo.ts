import { readFile } from 'node:fs/promises';
import sharp from 'sharp';
import { inspectPicture } from '../core/image/inspect.ts';
import { linearise } from '../core/image/linearise.ts';
import type { DecodedPhoto } from '../core/image/picture.ts';
import { PictureError } from '../core/image/picture-error.ts';
import { castlessPicture } from '../core/image/repair/castless.ts';
import { CliError } from './io.ts';

/**
 * Decodes a photograph: JPEG, PNG, WebP, TIFF; embedded profiles are converted to sRGB, EXIF orientation is applied.
 * @throws CliError naming the file and the reason.
 */
export async function readPhoto(path: string): Promise<DecodedPhoto> {
  let bytes: Uint8Array;
  try {
    bytes = await readFile(path);
  } catch (error) {
    const code = (error as NodeJS.ErrnoException).code;
    throw new CliError(`${path}: ${code === 'ENOENT' ? 'there is no such file' : (error as Error).message}`);
  }
  return decodePhoto(bytes, path);
}

/** @param name what errors call the file. */
export async function decodePhoto(bytes: Uint8Array, name: string): Promise<DecodedPhoto> {
  try {
    const header = inspectPicture(bytes);
    const deep = header.bitDepth > 8;
    const image = sharp(bytes, { failOn: 'error', limitInputPixels: 200_000_000 })
      .autoOrient()
      .toColourspace(deep ? 'rgb16' : 'srgb')
      .raw({ depth: deep ? 'ushort' : 'uchar' });
    const { data, info } = await image.toBuffer({ resolveWithObject: true });
    const encoded = deep
      ? new Uint16Array(data.buffer, data.byteOffset, data.byteLength / 2)
      : new Uint8Array(data.buffer, data.byteOffset, data.byteLength);
    const pixels = {
      width: info.width,
      height: info.height,
      channels: info.channels as 1 | 2 | 3 | 4,
      data: encoded,
    };
    return { picture: linearise(pixels), castless: castlessPicture(pixels) };
  } catch (error) {
    if (error instanceof PictureError) throw new CliError(`${name} ${error.message}`);
    throw new CliError(
      `${name} cannot be decoded (${(error as Error).message.split('\n')[0]}); open it in another program and save it again`,
    );
  }
}
