import { readFile, stat } from 'node:fs/promises';
import type { OutputInfo, Sharp } from 'sharp';
import sharp from 'sharp';
import type { RgbaPhoto } from '../base/geometry/rgba-photo.ts';
import { inMiB, LIMITS } from '../base/input-error.ts';
import { ALL_FORMATS, inspectPicture, type PictureInfo } from '../image/inspect.ts';
import { damaged, PictureError } from '../image/picture-error.ts';
import {
  embeddedProfile,
  type LinearProfile,
  pixelsToSrgb,
  readIccProfile,
  tablesOfDeep,
} from '../image/profile/icc.ts';
import { decodePieceFile, PieceError, type PieceFile } from '../piece/file.ts';
import { CliError } from './options.ts';

const WHY: Readonly<Record<string, string>> = {
  ENOENT: 'there is no such file',
  ENOTDIR: 'there is no such file',
  EACCES: 'you may not read it',
  EPERM: 'you may not read it',
  ELOOP: 'its links run in a circle',
  ENAMETOOLONG: 'its name is too long',
};

/**
 * All of a file, if it is one and no larger than `most` bytes: that is asked before it is read.
 * @throws CliError naming the file and the reason.
 */
export async function readBytes(path: string, most: number): Promise<Buffer> {
  try {
    const found = await stat(path);
    if (found.isDirectory()) throw new CliError(`${path}: this is a folder; name a file in it`);
    if (!found.isFile()) throw new CliError(`${path}: this is no file that can be read as a whole`);
    if (found.size > most) throw new CliError(`${path}: it is larger than ${inMiB(most)}`);
    return await readFile(path);
  } catch (error) {
    if (error instanceof CliError) throw error;
    const { code } = error as NodeJS.ErrnoException;
    throw new CliError(`${path}: ${WHY[code ?? ''] ?? `it cannot be read (${code})`}`);
  }
}

/** @throws CliError naming the file. */
export const readText = async (path: string): Promise<string> =>
  (await readBytes(path, LIMITS.documentBytes)).toString('utf8');

/** Runs what may refuse a file's content, and puts the file's name before the reason. @throws CliError. */
export function naming<Result>(path: string, run: () => Result): Result {
  try {
    return run();
  } catch (error) {
    if (error instanceof CliError) throw error;
    throw new CliError(`${path}: ${(error as Error).message}`);
  }
}

/** A piece and its images from a `.foreburn` file or its JSON. @throws CliError naming the file and every problem. */
export async function readPieceFile(path: string): Promise<PieceFile> {
  try {
    return decodePieceFile(await readBytes(path, LIMITS.pieceBytes));
  } catch (error) {
    if (!(error instanceof PieceError)) throw error;
    throw new CliError(error.problems.map((problem) => `${path}: ${problem}`).join('\n'));
  }
}

interface RawPicture {
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

/** sRGB bytes, the right way up. @throws CliError naming the file and the reason. */
export async function readRgba(path: string): Promise<RgbaPhoto> {
  const { data, info, profile } = await decodePicture(await readBytes(path, LIMITS.pictureBytes), path, (image) =>
    image.toColourspace('srgb').ensureAlpha().raw({ depth: 'uchar' }),
  );
  const size = { width: info.width, height: info.height };
  if (!profile) return { ...size, rgba: data };
  const converted = pixelsToSrgb({ ...size, channels: 4, data }, profile).data;
  return { ...size, rgba: converted instanceof Uint16Array ? converted8(converted) : data };
}

const converted8 = (codes: Uint16Array): Uint8Array =>
  Uint8Array.from({ length: codes.length }, (_, i) => (codes[i] + 128) / 257);
