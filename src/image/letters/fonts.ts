import type { LetterFont } from '../../piece/schema.ts';

type Part = () => Promise<{ default: string }>;

/** Fonts under the SIL Open Font License (WOFF 1.0), plain letters first, then the rest of west and middle Europe; each part loaded once it is wanted. */
const PARTS: Readonly<Record<LetterFont, readonly Part[]>> = {
  fraunces: [
    () => import('@fontsource/fraunces/files/fraunces-latin-600-normal.woff?inline'),
    () => import('@fontsource/fraunces/files/fraunces-latin-ext-600-normal.woff?inline'),
  ],
  'public-sans': [
    () => import('@fontsource/public-sans/files/public-sans-latin-600-normal.woff?inline'),
    () => import('@fontsource/public-sans/files/public-sans-latin-ext-600-normal.woff?inline'),
  ],
  'eb-garamond': [
    () => import('@fontsource/eb-garamond/files/eb-garamond-latin-600-normal.woff?inline'),
    () => import('@fontsource/eb-garamond/files/eb-garamond-latin-ext-600-normal.woff?inline'),
  ],
  'great-vibes': [
    () => import('@fontsource/great-vibes/files/great-vibes-latin-400-normal.woff?inline'),
    () => import('@fontsource/great-vibes/files/great-vibes-latin-ext-400-normal.woff?inline'),
  ],
};

/** The file of a part of a font; null beyond the last. */
export async function fontPart(font: LetterFont, part: number): Promise<ArrayBuffer | null> {
  const load = PARTS[font][part];
  if (!load) return null;
  const { default: address } = await load();
  const text = atob(address.slice(address.indexOf(',') + 1));
  return Uint8Array.from(text, (char) => char.charCodeAt(0)).buffer;
}
