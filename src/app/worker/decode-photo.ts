import { decode as decodePng } from 'fast-png';
import { inspectPicture, PAGE_FORMATS } from '../../core/image/inspect.ts';
import { type EncodedPixels, linearise } from '../../core/image/linearise.ts';
import { applyOrientation } from '../../core/image/orientation.ts';
import type { DecodedPhoto, Picture } from '../../core/image/picture.ts';
import { damaged, PictureError } from '../../core/image/picture-error.ts';
import type { PictureInfo } from '../../core/image/picture-info.ts';
import { checkPngData } from '../../core/image/png-data.ts';
import { castlessPicture } from '../../core/image/repair/castless.ts';

/**
 * Decodes a photograph in the browser: its own decoder applies embedded profiles and EXIF orientation, at 8 bits; 16-bit PNGs
 * without a profile are decoded here and keep their depth.
 * @throws PictureError with the reason.
 */
export async function decodePhoto(bytes: Uint8Array): Promise<DecodedPhoto> {
  const header = inspectPicture(bytes, PAGE_FORMATS);
  if (header.format === 'png' && header.bitDepth === 16 && !header.hasIccProfile) {
    const pixels = decodeDeepPng(bytes, header);
    const castless = castlessPicture(pixels);
    const turn = (picture: Picture) => applyOrientation(picture, header.orientation);
    return { picture: turn(linearise(pixels)), castless: castless && turn(castless) };
  }
  let bitmap: ImageBitmap;
  try {
    bitmap = await createImageBitmap(new Blob([bytes as BlobPart]), {
      imageOrientation: 'from-image',
      colorSpaceConversion: 'default',
      premultiplyAlpha: 'none',
    });
  } catch {
    throw new PictureError(
      'damaged',
      'cannot be decoded: it may be damaged; open it in another program and save it again',
    );
  }
  const { width, height } = bitmap;
  const canvas = new OffscreenCanvas(width, height);
  const context = canvas.getContext('2d', { colorSpace: 'srgb', willReadFrequently: true });
  if (!context)
    throw new PictureError('damaged', 'is too much for the browser’s memory now; close other pages and try again');
  context.drawImage(bitmap, 0, 0);
  bitmap.close();
  const pixels = { width, height, channels: 4, data: context.getImageData(0, 0, width, height).data } as const;
  // Four bytes a pixel that nobody needs any more.
  canvas.width = 0;
  return { picture: linearise(pixels), castless: castlessPicture(pixels) };
}

/** The library takes whatever the data unpack to, and says what is wrong in words of its own. */
function decodeDeepPng(bytes: Uint8Array, header: PictureInfo): EncodedPixels {
  checkPngData(bytes, header);
  try {
    const { width, height, channels, data } = decodePng(bytes);
    return { width, height, channels: channels as 1 | 2 | 3 | 4, data: data as Uint16Array };
  } catch {
    throw damaged('it cannot be decoded');
  }
}
