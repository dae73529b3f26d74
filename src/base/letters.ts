import headLatin from '@fontsource/fraunces/files/fraunces-latin-600-normal.woff?inline';
import headLatinExt from '@fontsource/fraunces/files/fraunces-latin-ext-600-normal.woff?inline';
import textLatin from '@fontsource/public-sans/files/public-sans-latin-400-normal.woff?inline';
import strongLatin from '@fontsource/public-sans/files/public-sans-latin-600-normal.woff?inline';
import textLatinExt from '@fontsource/public-sans/files/public-sans-latin-ext-400-normal.woff?inline';
import strongLatinExt from '@fontsource/public-sans/files/public-sans-latin-ext-600-normal.woff?inline';
import { LETTER_RANGES, type LetterRange } from './letter-ranges.ts';

/** A cut of the product's own type, with the part of Unicode that it holds; the font (WOFF 1.0) as a data address. */
interface Cut {
  readonly family: 'Fraunces' | 'Public Sans';
  readonly weight: 400 | 600;
  readonly range: LetterRange;
  readonly address: string;
}

/** The product's own type for what leaves it: papers and the client's page, which may ask for nothing from outside. */
export const LETTERS: readonly Cut[] = [
  { family: 'Fraunces', weight: 600, range: 'latin', address: headLatin },
  { family: 'Fraunces', weight: 600, range: 'latin-ext', address: headLatinExt },
  { family: 'Public Sans', weight: 400, range: 'latin', address: textLatin },
  { family: 'Public Sans', weight: 400, range: 'latin-ext', address: textLatinExt },
  { family: 'Public Sans', weight: 600, range: 'latin', address: strongLatin },
  { family: 'Public Sans', weight: 600, range: 'latin-ext', address: strongLatinExt },
];

/** Rules for a document's style sheet. */
export const letterRules = (): string =>
  LETTERS.map(
    ({ family, weight, range, address }) =>
      `@font-face { font-family: '${family}'; font-weight: ${weight}; src: url(${address}) format('woff'); unicode-range: ${LETTER_RANGES[range]}; }`,
  ).join('\n');
