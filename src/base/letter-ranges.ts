export type LetterRange = 'latin' | 'latin-ext';

/** The parts of Unicode that the cuts of Fraunces and Public Sans hold, as the packages that bring them say (`unicode.json`). */
export const LETTER_RANGES: Readonly<Record<LetterRange, string>> = {
  latin:
    'U+0000-00FF,U+0131,U+0152-0153,U+02BB-02BC,U+02C6,U+02DA,U+02DC,U+0304,U+0308,U+0329,U+2000-206F,U+20AC,U+2122,U+2191,U+2193,U+2212,U+2215,U+FEFF,U+FFFD',
  'latin-ext':
    'U+0100-02BA,U+02BD-02C5,U+02C7-02CC,U+02CE-02D7,U+02DD-02FF,U+0304,U+0308,U+0329,U+1D00-1DBF,U+1E00-1E9F,U+1EF2-1EFF,U+2020,U+20A0-20AB,U+20AD-20C0,U+2113,U+2C60-2C7F,U+A720-A7FF',
};

const SPANS = (['latin', 'latin-ext'] as const).map((range) => ({
  range,
  spans: LETTER_RANGES[range].split(',').map((span) => {
    const [first, last = first] = span.slice(2).split('-');
    return [Number.parseInt(first, 16), Number.parseInt(last, 16)] as const;
  }),
}));

/** Where a sign stands; null where the product's own type has none. */
export function letterRange(sign: string): LetterRange | null {
  const code = sign.codePointAt(0) ?? 0;
  return SPANS.find(({ spans }) => spans.some(([first, last]) => code >= first && code <= last))?.range ?? null;
}
