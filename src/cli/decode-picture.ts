import sharp, { type OutputInfo, type Sharp } from 'sharp';
import { ALL_FORMATS, inspectPicture } from '../core/image/inspect.ts';
import { damaged, PictureError } from '../core/image/picture-error.ts';
import type { PictureInfo } from '../core/image/picture-info.ts';
import { LIMITS } from '../core/limits.ts';
import { CliError } from './io.ts';

export interface RawPicture {
  readonly header: PictureInfo;
  readonly data: Buffer;
  readonly info: OutputInfo;
}

/**
 * Decodes a picture that was looked over first: embedded profiles are converted, EXIF orientation is applied.
 * @param name what errors call the file. @param raw what its pixels are to become.
 * @throws CliError naming the file and the reason.
 */
export async function decodePicture(
  bytes: Uint8Array,
  name: string,
  raw: (image: Sharp, header: PictureInfo) => Sharp,
): Promise<RawPicture> {
  try {
    const header = inspectPicture(bytes, ALL_FORMATS);
    const image = sharp(bytes, { failOn: 'error', limitInputPixels: LIMITS.pixels }).autoOrient();
    const { data, info } = await raw(image, header)
      .toBuffer({ resolveWithObject: true })
      .catch(() => {
        throw damaged('it cannot be decoded');
      });
    const [width, height] = header.orientation >= 5 ? [header.height, header.width] : [header.width, header.height];
    if (info.width !== width || info.height !== height) throw damaged('it is not as large as it says');
    return { header, data, info };
  } catch (error) {
    if (error instanceof PictureError) throw new CliError(`${name} ${error.message}`);
    throw error;
  }
}
