import { encode } from 'fast-png';

/**
 * Encodes 8-bit grey values as a PNG file.
 * @param data row-major, a byte a pixel, encoded as they are to be shown.
 * @throws RangeError if there are not width × height of them.
 */
export function encodeGreyPng(width: number, height: number, data: Uint8Array): Uint8Array {
  return encodePng(width, height, 1, data);
}

/**
 * Encodes 8-bit RGB values as a PNG file.
 * @param data row-major, three bytes a pixel, sRGB encoded.
 * @throws RangeError if there are not 3 × width × height of them.
 */
export function encodeRgbPng(width: number, height: number, data: Uint8Array): Uint8Array {
  return encodePng(width, height, 3, data);
}

function encodePng(width: number, height: number, channels: 1 | 3, data: Uint8Array): Uint8Array {
  if (data.length !== width * height * channels) {
    throw new RangeError(`${width} × ${height} pixels of ${channels} channels do not make ${data.length} bytes`);
  }
  return encode({ width, height, channels, depth: 8, data });
}
