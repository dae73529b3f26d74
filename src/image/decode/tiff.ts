import { decode, decodeImage } from 'utif2';
import { inspectPicture } from '../inspect.ts';
import type { EncodedPixels } from '../linearise.ts';
import type { Orientation } from '../picture.ts';
import { damaged, unsupportedEncoding } from '../picture-error.ts';
import { pixelsToSrgb, readIccProfile, tablesOfDeep } from '../profile/icc.ts';

/** Ways of packing (tag 259) that give every reader the same pixels: none, LZW, deflate (two numbers), PackBits. */
const PACKED = new Set([1, 5, 8, 32946, 32773]);

const GREY = 1;

const RGB = 2;

/**
 * The pixels of a TIFF in sRGB, upright: grey or RGB of 8 or 16 bits, with or without opacity, as the command line reads them. Other kinds
 * are refused with a sentence.
 * Source: TIFF Revision 6.0 (1992). Test: against sharp (test/unit/tiff.test.ts).
 * @throws PictureError with the reason.
 */
export function decodeTiff(bytes: Uint8Array): EncodedPixels {
  const header = inspectPicture(bytes, ['tiff']);
  const { width, height, orientation, bitDepth } = header;
  const [first] = attempt(() => decode(bytes.slice().buffer));
  const tag = (number: number): number | undefined => (first?.[`t${number}`] as ArrayLike<number> | undefined)?.[0];
  const channels = tag(277) ?? 1;
  const photometric = tag(262) ?? GREY;
  const isKnown =
    first !== undefined &&
    PACKED.has(tag(259) ?? 1) &&
    (bitDepth === 8 || bitDepth === 16) &&
    (tag(284) ?? 1) === 1 &&
    ((photometric === GREY && channels <= 2) || (photometric === RGB && (channels === 3 || channels === 4))) &&
    // Opacity that colours are not multiplied with.
    (channels % 2 === 1 || tag(338) === 2);
  if (!isKnown) throw unsupportedEncoding('is a TIFF of a rare kind');
  attempt(() => decodeImage(bytes.slice().buffer, first));
  const count = width * height * channels;
  const raw = first.data as Uint8Array | undefined;
  if (raw?.length !== (count * bitDepth) / 8) throw damaged('it is not as large as it says');
  const data = bitDepth === 8 ? raw.slice() : wideOf(raw, bytes[0] === 0x49);
  const pixels = upright({ width, height, channels: channels as 1 | 2 | 3 | 4, data }, orientation);
  if (!header.hasIccProfile) return pixels;
  const profile = readIccProfile(Uint8Array.from((first['t34675'] ?? []) as ArrayLike<number>));
  if (profile) return pixelsToSrgb(pixels, profile);
  if (bitDepth === 16) throw tablesOfDeep();
  throw unsupportedEncoding('is a TIFF with a colour profile of tables');
}

/** The library says what is wrong in words of its own. */
function attempt<Value>(run: () => Value): Value {
  try {
    return run();
  } catch {
    throw damaged('it cannot be decoded');
  }
}

/** Values of two bytes, in the order that the file has them in. */
function wideOf(raw: Uint8Array, littleEndian: boolean): Uint16Array {
  const [low, high] = littleEndian ? [0, 1] : [1, 0];
  const out = new Uint16Array(raw.length / 2);
  for (let i = 0; i < out.length; i++) out[i] = raw[2 * i + low] | (raw[2 * i + high] << 8);
  return out;
}

/** What each orientation does, as for pictures: rows and columns change places, then which axes run backwards. */
function upright(pixels: EncodedPixels, orientation: Orientation): EncodedPixels {
  if (orientation === 1) return pixels;
  const { channels, data } = pixels;
  const swaps = orientation >= 5;
  const backwardsX = [2, 3, 6, 7].includes(orientation);
  const backwardsY = [3, 4, 7, 8].includes(orientation);
  const [width, height] = swaps ? [pixels.height, pixels.width] : [pixels.width, pixels.height];
  const out = data.slice();
  for (let y = 0, to = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      const [u, v] = [backwardsX ? width - 1 - x : x, backwardsY ? height - 1 - y : y];
      const from = (swaps ? u * pixels.width + v : v * pixels.width + u) * channels;
      for (let k = 0; k < channels; k++) out[to++] = data[from + k];
    }
  }
  return { width, height, channels, data: out };
}
