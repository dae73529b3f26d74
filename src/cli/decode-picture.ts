import sharp, { type OutputInfo, type Sharp } from 'sharp';
import { LIMITS } from '../base/limits.ts';
import { ALL_FORMATS, inspectPicture } from '../image/inspect.ts';
import { damaged, PictureError } from '../image/picture-error.ts';
import type { PictureInfo } from '../image/picture-info.ts';
import { embeddedProfile } from '../image/profile/embedded-profile.ts';
import { type LinearProfile, readIccProfile } from '../image/profile/icc.ts';
import { tablesOfDeep } from '../image/profile/tables-of-deep.ts';
import { CliError } from './faults.ts';

export interface RawPicture {
  readonly header: PictureInfo;
  readonly data: Buffer;
  readonly info: OutputInfo;
  /** What turns the pixels into sRGB; null where they are in sRGB already. */
  readonly profile: LinearProfile | null;
}

/**
 * Decodes a picture that was looked over first: EXIF orientation is applied. Profiles of curves and a matrix are left to whoever asked,
 * since the library would convert those of 16 bits into another space than it says; those of tables it converts itself.
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
    const embedded = header.format === 'tiff' ? await tiffProfile(bytes) : embeddedProfile(bytes, header);
    const profile = embedded && readIccProfile(embedded);
    const ignoreIcc = profile !== null || embedded === null;
    if (!ignoreIcc && header.bitDepth > 8) throw tablesOfDeep();
    const image = sharp(bytes, { failOn: 'error', limitInputPixels: LIMITS.pixels, ignoreIcc }).autoOrient();
    const { data, info } = await raw(image, header)
      .toBuffer({ resolveWithObject: true })
      .catch(() => {
        throw damaged('it cannot be decoded');
      });
    const [width, height] = header.orientation >= 5 ? [header.height, header.width] : [header.width, header.height];
    if (info.width !== width || info.height !== height) throw damaged('it is not as large as it says');
    return { header, data, info, profile };
  } catch (error) {
    if (error instanceof PictureError) throw new CliError(`${name} ${error.message}`);
    throw error;
  }
}

/** @returns the profile of a TIFF, which only the command line reads. */
const tiffProfile = async (bytes: Uint8Array): Promise<Uint8Array | null> =>
  sharp(bytes)
    .metadata()
    .then(
      ({ icc }) => icc ?? null,
      () => null,
    );
