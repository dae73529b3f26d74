/** Fonts by the names that `paper-pdf.ts` sets them by, and their files as base64, as pdfmake wants both. */
export interface PdfLetters {
  readonly files: Readonly<Record<string, string>>;
  readonly fonts: Readonly<Record<string, { readonly normal: string; readonly bold: string }>>;
}

/** Fetches the fonts once a paper is set. */
export async function pdfLetters(): Promise<PdfLetters> {
  const { LETTERS } = await import('../../base/letters.ts');
  const files: Record<string, string> = {};
  const fonts: Record<string, { normal: string; bold: string }> = {};
  for (const { family, weight, range, address } of LETTERS) {
    const font = `${family} ${range}`;
    const file = `${font} ${weight}.woff`;
    files[file] = address.slice(address.indexOf(',') + 1);
    fonts[font] = { normal: fonts[font]?.normal ?? file, bold: file };
  }
  return { files, fonts };
}
