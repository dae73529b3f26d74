import { encodeSrgbByte } from '../base/color/srgb.ts';
import { lightnessToLuminance } from './lightness.ts';
import type { ToneImage } from './picture.ts';

/**
 * A prepared picture as bytes: its lightness as sRGB grey, repeated over `greys` channels, and what may burn as the last channel.
 * Row-major, interleaved.
 */
export function preparedGreys({ lightness, mask }: ToneImage, greys: 1 | 3): Uint8ClampedArray<ArrayBuffer> {
  const channels = greys + 1;
  const data = new Uint8ClampedArray(channels * lightness.length);
  for (let i = 0; i < lightness.length; i++) {
    data.fill(encodeSrgbByte(lightnessToLuminance(lightness[i])), channels * i, channels * i + greys);
    data[channels * i + greys] = mask[i];
  }
  return data;
}
