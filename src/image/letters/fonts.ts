import type { LetterFont } from '../../piece/schema.ts';

/** Fonts under the SIL Open Font License, in parts by ranges of Unicode (WOFF 1.0), each loaded once it is wanted. */
const PARTS: Readonly<Record<LetterFont, () => Promise<{ default: string }[]>>> = {
  fraunces: () =>
    Promise.all([
      import('@fontsource/fraunces/files/fraunces-latin-600-normal.woff?inline'),
      import('@fontsource/fraunces/files/fraunces-latin-ext-600-normal.woff?inline'),
    ]),
  'public-sans': () =>
    Promise.all([
      import('@fontsource/public-sans/files/public-sans-latin-600-normal.woff?inline'),
      import('@fontsource/public-sans/files/public-sans-latin-ext-600-normal.woff?inline'),
    ]),
  'eb-garamond': () =>
    Promise.all([
      import('@fontsource/eb-garamond/files/eb-garamond-latin-600-normal.woff?inline'),
      import('@fontsource/eb-garamond/files/eb-garamond-latin-ext-600-normal.woff?inline'),
    ]),
  'great-vibes': () =>
    Promise.all([
      import('@fontsource/great-vibes/files/great-vibes-latin-400-normal.woff?inline'),
      import('@fontsource/great-vibes/files/great-vibes-latin-ext-400-normal.woff?inline'),
    ]),
};

/** The files of a font, the part with plain letters first. */
export async function fontFiles(font: LetterFont): Promise<ArrayBuffer[]> {
  const parts = await PARTS[font]();
  return parts.map(({ default: address }) => {
    const text = atob(address.slice(address.indexOf(',') + 1));
    return Uint8Array.from(text, (char) => char.charCodeAt(0)).buffer;
  });
}
