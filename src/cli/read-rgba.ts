import { readFile } from 'node:fs/promises';
import sharp from 'sharp';
import { inspectPicture } from '../core/image/inspect.ts';
import type { RgbaPhoto } from '../core/slab/rgba-photo.ts';
import { CliError } from './io.ts';

/** sRGB bytes, the right way up. @throws CliError naming the file and the reason. */
export async function readRgba(path: string): Promise<RgbaPhoto> {
  const bytes = await readFile(path).catch((error: NodeJS.ErrnoException) => {
    throw new CliError(`${path}: ${error.code === 'ENOENT' ? 'there is no such file' : error.message}`);
  });
  try {
    inspectPicture(bytes);
    const image = sharp(bytes, { failOn: 'error', limitInputPixels: 200_000_000 }).autoOrient();
    const raw = image.toColourspace('srgb').ensureAlpha().raw({ depth: 'uchar' });
    const { data, info } = await raw.toBuffer({ resolveWithObject: true });
    return { width: info.width, height: info.height, rgba: data };
  } catch (error) {
    throw new CliError(`${path}: ${(error as Error).message.split('\n')[0]}`);
  }
}
