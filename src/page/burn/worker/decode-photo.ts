import { decode as decodePng } from 'fast-png';
import { inspectPicture, PAGE_FORMATS, type PictureInfo } from '../../../image/inspect.ts';
import { type EncodedPixels, linearise } from '../../../image/linearise.ts';
import { applyOrientation, type DecodedPhoto, type Picture } from '../../../image/picture.ts';
import { damaged, PictureError } from '../../../image/picture-error.ts';
import { checkPngData } from '../../../image/png-stream.ts';
import { embeddedProfile, pixelsToSrgb, readIccProfile, tablesOfDeep } from '../../../image/profile/icc.ts';
import { castlessPicture } from '../../../image/repair/fade.ts';

/**
 * Decodes a photograph in the browser: its own decoder applies EXIF orientation, at 8 bits; 16-bit PNGs and PNGs with opacity, whose
 * colours a canvas would round, are decoded here. Profiles of curves and a matrix are applied here as the command line applies them, so
 * that both get the same dots; those of tables are left to the browser.
 * @throws PictureError with the reason.
 */
export async function decodePhoto(bytes: Uint8Array): Promise<DecodedPhoto> {
  const header = inspectPicture(bytes, PAGE_FORMATS);
  const embedded = header.hasIccProfile ? embeddedProfile(bytes, header) : null;
  const profile = embedded && readIccProfile(embedded);
  const inSrgb = (raw: EncodedPixels): EncodedPixels => (profile ? pixelsToSrgb(raw, profile) : raw);
  const isDeep = header.bitDepth === 16;
  if (isDeep && embedded && !profile) throw tablesOfDeep();
  // Colour types 4 and 6: a channel of opacity, whose colours a canvas would round.
  const opacity = header.bitDepth === 8 && (bytes[25] === 4 || bytes[25] === 6) && (profile || !embedded);
  if (header.format === 'png' && (isDeep || opacity)) {
    const pixels = inSrgb(decodeWholePng(bytes, header));
    const castless = castlessPicture(pixels);
    const turn = (picture: Picture) => applyOrientation(picture, header.orientation);
    return { picture: turn(linearise(pixels)), castless: castless && turn(castless) };
  }
  let bitmap: ImageBitmap;
  try {
    bitmap = await createImageBitmap(new Blob([bytes as BlobPart]), {
      imageOrientation: 'from-image',
      colorSpaceConversion: profile || !embedded ? 'none' : 'default',
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
  const pixels = inSrgb({ width, height, channels: 4, data: context.getImageData(0, 0, width, height).data });
  // Four bytes a pixel that nobody needs any more.
  canvas.width = 0;
  return { picture: linearise(pixels), castless: castlessPicture(pixels) };
}

/** The library takes whatever the data unpack to, and says what is wrong in words of its own. */
function decodeWholePng(bytes: Uint8Array, header: PictureInfo): EncodedPixels {
  checkPngData(bytes, header);
  try {
    const { width, height, channels, data } = decodePng(bytes);
    return { width, height, channels: channels as 1 | 2 | 3 | 4, data: data as Uint8Array | Uint16Array };
  } catch {
    throw damaged('it cannot be decoded');
  }
}
