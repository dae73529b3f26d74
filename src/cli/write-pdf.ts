import { createRequire } from 'node:module';
import { dirname, join } from 'node:path';
import pdfmake from 'pdfmake';
import type { PdfDefinition } from '../outputs/paper/paper-pdf.ts';
import { pdfLetters } from '../outputs/paper/pdf-letters.ts';

const FONTS = join(dirname(createRequire(import.meta.url).resolve('pdfmake/fonts/Roboto.js')), 'Roboto');
const font = (style: string): string => join(FONTS, `Roboto-${style}.ttf`);

/** Sets a paper as PDF. Reads nothing but its own fonts. */
export async function writePdf(definition: PdfDefinition): Promise<Uint8Array> {
  const { files, fonts } = await pdfLetters();
  // Its types leave this out.
  const { virtualfs: virtualFiles } = pdfmake as unknown as {
    virtualfs: { writeFileSync(name: string, bytes: Buffer): void };
  };
  for (const [name, base64] of Object.entries(files)) {
    virtualFiles.writeFileSync(name, Buffer.from(base64, 'base64'));
  }
  pdfmake.setFonts({
    ...fonts,
    Roboto: {
      normal: font('Regular'),
      bold: font('Medium'),
      italics: font('Italic'),
      bolditalics: font('MediumItalic'),
    },
  });
  pdfmake.setUrlAccessPolicy(() => false);
  pdfmake.setLocalAccessPolicy((path) => path.startsWith(FONTS));
  return pdfmake.createPdf(definition as unknown as Parameters<typeof pdfmake.createPdf>[0]).getBuffer();
}
