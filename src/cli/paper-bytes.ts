import { createRequire } from 'node:module';
import { dirname, join } from 'node:path';
import { letterRules } from '../base/letters.ts';
import type { Paper } from '../outputs/paper/paper.ts';
import { paperHtml } from '../outputs/paper/paper-html.ts';
import { paperPdf } from '../outputs/paper/paper-pdf.ts';
import { pdfLetters } from '../outputs/paper/pdf-letters.ts';
import { UsageError } from './options.ts';

/** What kind of file a paper's name asks for. @throws UsageError for any other ending. */
export function paperKind(path: string): 'html' | 'pdf' {
  const ending = /\.(html|pdf)$/i.exec(path)?.[1].toLowerCase();
  if (!ending) throw new UsageError(`--out: must end in .html or .pdf, got "${path}"`);
  return ending as 'html' | 'pdf';
}

/** A paper as its file's name asks for it. */
export const paperBytes = async (path: string, paper: Paper): Promise<string | Uint8Array> =>
  paperKind(path) === 'html' ? paperHtml(paper, letterRules()) : pdfBytes(paper);

/** Reads nothing but its own fonts. What sets PDF is large: nothing else waits for it. */
async function pdfBytes(paper: Paper): Promise<Uint8Array> {
  const { default: pdfmake } = await import('pdfmake');
  const folder = join(dirname(createRequire(import.meta.url).resolve('pdfmake/fonts/Roboto.js')), 'Roboto');
  const font = (style: string): string => join(folder, `Roboto-${style}.ttf`);
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
  pdfmake.setLocalAccessPolicy((path) => path.startsWith(folder));
  return pdfmake.createPdf(paperPdf(paper) as unknown as Parameters<typeof pdfmake.createPdf>[0]).getBuffer();
}
