import { Unzlib } from 'fflate';
import { damaged, PictureError } from './picture-error.ts';
import type { PictureInfo } from './picture-info.ts';

const CHANNELS: Readonly<Record<PictureInfo['colorModel'], number>> = { grey: 1, palette: 1, rgb: 3 };
/** Interlacing splits a picture into seven, of which each row has a byte for its filter. */
const PASSES = 7;
const STEP = 4096;

/**
 * Makes sure that a PNG's packed rows, which `inspectPng` has walked, unpack to what its header says and no more: what would unpack to
 * far more is stopped there.
 * @throws PictureError (damaged).
 */
export function checkPngData(png: Uint8Array, { width, height, bitDepth, colorModel, hasAlpha }: PictureInfo): void {
  const rowBytes = Math.ceil((width * bitDepth * (CHANNELS[colorModel] + (hasAlpha ? 1 : 0))) / 8) + 1;
  const most = height * rowBytes + PASSES * (height + width);
  let length = 0;
  const stream = new Unzlib((chunk) => {
    length += chunk.length;
    if (length > most) throw damaged('it unpacks to more than its size');
  });
  const view = new DataView(png.buffer, png.byteOffset, png.byteLength);
  try {
    for (let at = 8; at + 8 <= png.length; at += 12 + view.getUint32(at)) {
      if (view.getUint32(at + 4) !== IDAT) continue;
      const end = at + 8 + view.getUint32(at);
      for (let from = at + 8; from < end; from += STEP) stream.push(png.subarray(from, Math.min(end, from + STEP)));
    }
    stream.push(new Uint8Array(0), true);
  } catch (error) {
    if (error instanceof PictureError) throw error;
    throw damaged('its rows cannot be unpacked');
  }
}

const IDAT = 0x49444154;
