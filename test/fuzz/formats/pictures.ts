import sharp, { type Sharp } from 'sharp';
import { decodePhoto } from '../../../src/cli/open-job.ts';
import type { DecodedPhoto } from '../../../src/image/picture.ts';
import { decodePhoto as decodeOnPage } from '../../../src/page/burn/worker/decode-photo.ts';
import { tiffStream, withPngChunk, withRightSums } from '../../helpers/picture-parts.ts';
import type { Dice } from '../dice.ts';
import type { Case, Format, Taken } from '../format.ts';
import { flipBits, spoilBytes } from '../spoil-bytes.ts';

type Kind = 'jpeg' | 'png' | 'webp' | 'tiff';

/** A small picture with tones of its own: a sky over a dark shore. */
function scene(dice: Dice): Sharp {
  const [width, height] = [8 + dice.below(60), 8 + dice.below(60)];
  const channels = dice.pick([1, 3, 4] as const);
  const data = Uint8Array.from({ length: width * height * channels }, (_, i) => {
    const y = Math.floor(i / (channels * width)) / height;
    return (y < 0.6 ? 230 - 60 * y : 40) + dice.below(12);
  });
  return sharp(data, { raw: { width, height, channels } });
}

async function encoded(kind: Kind, dice: Dice): Promise<Uint8Array> {
  let image = scene(dice);
  if (dice.chance(0.3)) image = image.withMetadata({ orientation: 1 + dice.below(8) });
  if (dice.chance(0.3)) image = image.withIccProfile('srgb');
  switch (kind) {
    case 'jpeg':
      return image.jpeg({ progressive: dice.chance(0.3), quality: 60 }).toBuffer();
    case 'png':
      if (dice.chance(0.3)) image = image.toColourspace('rgb16');
      return image.png({ progressive: dice.chance(0.2), palette: dice.chance(0.2) }).toBuffer();
    case 'webp':
      return image.webp({ lossless: dice.chance(0.4) }).toBuffer();
    case 'tiff':
      return image
        .tiff({ compression: dice.pick(['none', 'lzw', 'deflate', 'jpeg']), tile: dice.chance(0.3) })
        .toBuffer();
  }
}

/** Directories whose entries claim more than there is, or point to the same bytes over and over. */
function hostileDirectory(dice: Dice): Uint8Array {
  const entries = Array.from({ length: dice.below(3000) }, () => ({
    tag: dice.pick([254, 256, 257, 258, 273, 274, 279, dice.below(65536)]),
    type: dice.below(15),
    count: dice.pick([0, 1, 2, 1000, 100_000, 0xffffffff]),
    value: dice.pick([0, 6, 8, 0xffffffff]),
  }));
  return tiffStream(entries, dice.pick([0, 1000, 400_000]), dice.pick([0, 8, 10]));
}

async function spoiled(kind: Kind, dice: Dice): Promise<Case> {
  const whole = await encoded(kind, dice);
  if (dice.chance(0.05)) return { bytes: whole };
  if (kind === 'tiff') return { bytes: dice.chance(0.2) ? hostileDirectory(dice) : spoilBytes(whole, dice) };
  if (kind !== 'png') return { bytes: spoilBytes(whole, dice) };
  if (dice.chance(0.3)) return { bytes: flipBits(whole, 1, dice), mustRefuse: true };
  if (dice.chance(0.2))
    return { bytes: withPngChunk(whole, dice.pick(['eXIf', 'iCCP', 'zTXt', 'tRNS']), hostileDirectory(dice)) };
  return { bytes: dice.chance(0.7) ? withRightSums(spoilBytes(whole, dice)) : spoilBytes(whole, dice) };
}

function told({ picture }: DecodedPhoto): Taken {
  const { width, height, luminance } = picture;
  const sound = luminance.length === width * height && luminance.every((tone) => tone >= 0 && tone <= 1.0001);
  if (!sound) throw new Error(`${width} × ${height} pixels that are none`);
  return { told: `${width} × ${height}` };
}

const format = (kind: Kind): Format => ({
  make: (dice) => spoiled(kind, dice),
  take: async (bytes) => told(await decodePhoto(bytes, 'picture')),
});
export const jpeg = format('jpeg');
export const png = format('png');
export const webp = format('webp');
export const tiff = format('tiff');

/** PNGs of 16 bits, which the page decodes itself; all else needs a browser. */
export const pagePng: Format = {
  async make(dice) {
    const deep = await scene(dice)
      .toColourspace('rgb16')
      .png({ progressive: dice.chance(0.2) })
      .toBuffer();
    const bytes = withRightSums(spoilBytes(deep, dice));
    return { bytes };
  },
  take: async (bytes) => told(await decodeOnPage(bytes)),
};
