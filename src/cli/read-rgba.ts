import type { RgbaPhoto } from '../base/geometry/rgba-photo.ts';
import { LIMITS } from '../base/limits.ts';
import { pixelsToSrgb } from '../image/profile/to-srgb.ts';
import { decodePicture } from './decode-picture.ts';
import { readBytes } from './read-bytes.ts';

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
