import { LIMITS } from '../core/limits.ts';
import type { RgbaPhoto } from '../core/slab/rgba-photo.ts';
import { decodePicture } from './decode-picture.ts';
import { readBytes } from './read-bytes.ts';

/** sRGB bytes, the right way up. @throws CliError naming the file and the reason. */
export async function readRgba(path: string): Promise<RgbaPhoto> {
  const { data, info } = await decodePicture(await readBytes(path, LIMITS.pictureBytes), path, (image) =>
    image.toColourspace('srgb').ensureAlpha().raw({ depth: 'uchar' }),
  );
  return { width: info.width, height: info.height, rgba: data };
}
