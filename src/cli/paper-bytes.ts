import { createRequire } from 'node:module';
import { dirname, join } from 'node:path';
import type { Paper } from '../outputs/paper/paper.ts';
import { paperHtml } from '../outputs/paper/paper-html.ts';
import { paperPdf } from '../outputs/paper/paper-pdf.ts';
import { UsageError } from './options.ts';

/** What kind of file a paper's name asks for. @throws UsageError for any other ending. */
export function paperKind(path: string): 'html' | 'pdf' {
  const ending = /\.(html|pdf)$/i.exec(path)?.[1].toLowerCase();
  if (!ending) throw new UsageError(`--out: must end in .html or .pdf, got "${path}"`);
  return ending as 'html' | 'pdf';
}

/** A paper as its file's name asks for it. */
export const paperBytes = async (path: string, paper: Paper): Promise<string | Uint8Array> =>
  paperKind(path) === 'html' ? paperHtml(paper) : pdfBytes(paper);

/** Reads nothing but its own fonts. What sets PDF is large: nothing else waits for it. */
async function pdfBytes(paper: Paper): Promise<Uint8Array> {
  const { default: pdfmake } = await import('pdfmake');
  const fonts = join(dirname(createRequire(import.meta.url).resolve('pdfmake/fonts/Roboto.js')), 'Roboto');
  const font = (style: string): string => join(fonts, `Roboto-${style}.ttf`);
  pdfmake.setFonts({
    Roboto: {
      normal: font('Regular'),
      bold: font('Medium'),
      italics: font('Italic'),
      bolditalics: font('MediumItalic'),
    },
  });
  pdfmake.setUrlAccessPolicy(() => false);
  pdfmake.setLocalAccessPolicy((path) => path.startsWith(fonts));
  return pdfmake.createPdf(paperPdf(paper) as unknown as Parameters<typeof pdfmake.createPdf>[0]).getBuffer();
}
