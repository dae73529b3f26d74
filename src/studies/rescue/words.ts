import { SCORCHED_SHARE } from '../../burn/clearing.ts';
import type { Seen } from './rescue-sample.ts';

/** What a maker may say of a piece that came out wrong. */
export const MAKER_WORDS = ['blotchy', 'just-marks', 'dull', 'scorched'] as const;
export type MakerWords = (typeof MAKER_WORDS)[number];

export const WORDS_TEXT: Readonly<Record<MakerWords, string>> = {
  blotchy: 'Blotchy in the light areas',
  'just-marks': 'It only just marks',
  dull: 'It looks right but dull',
  scorched: 'Scorched in places',
};

/** Variation of L* over the light areas from which one sees blotches, and one that one no longer calls even (estimates). */
const BLOTCHY_LIGHTNESS = 2;
const UNEVEN_LIGHTNESS = 5;
/** Up to this share of the way from the unburned coat to the undercoat a burn only marks; from the second on it looks right (estimates). */
const MARKED_WAY = 0.2;
const RIGHT_WAY = 0.5;
const CLEAN_WAY = 0.95;

/** 0–1: how well the words fit an outcome. Soft, because people's eyes differ. */
export function agreeWithWords(words: MakerWords, { way, blotch, scorched }: Seen): number {
  switch (words) {
    case 'blotchy':
      return above(blotch, BLOTCHY_LIGHTNESS, 0.4) * above(way, MARKED_WAY, 0.05);
    case 'just-marks':
      return above(way, 0.01, 0.004) * above(-way, -MARKED_WAY, 0.04);
    case 'dull':
      return above(way, RIGHT_WAY, 0.05) * above(-way, -CLEAN_WAY, 0.015) * above(-blotch, -UNEVEN_LIGHTNESS, 0.6);
    case 'scorched':
      return above(Math.log(Math.max(1e-9, scorched) / SCORCHED_SHARE), 0, 0.3);
  }
}

/** A step from 0 to 1 at a value, about four widths wide. */
const above = (value: number, at: number, width: number): number => 1 / (1 + Math.exp((at - value) / width));

/** How far a piece that came out as its proof shows may be from it: share of the way to the undercoat, and share uncleared. */
const LIKE_PROOF_WAY = 0.06;
const LIKE_PROOF_UNCLEARED = 0.15;

/** 0–1: how well an outcome agrees with the one predicted. */
export const agreeWithProof = (predicted: Seen, { way, uncleared }: Seen): number =>
  Math.exp(
    -0.5 *
      (((way - predicted.way) / LIKE_PROOF_WAY) ** 2 + ((uncleared - predicted.uncleared) / LIKE_PROOF_UNCLEARED) ** 2),
  );
