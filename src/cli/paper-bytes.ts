import { letterRules } from '../base/letters.ts';
import type { Paper } from '../outputs/paper/paper.ts';
import { paperHtml } from '../outputs/paper/paper-html.ts';
import { paperPdf } from '../outputs/paper/paper-pdf.ts';
import { UsageError } from './options.ts';

/** What kind of file a paper's name asks for. @throws UsageError for any other ending. */
export function paperKind(option: string, path: string): 'html' | 'pdf' {
  const ending = /\.(html|pdf)$/i.exec(path)?.[1].toLowerCase();
  if (!ending) throw new UsageError(`${option}: must end in .html or .pdf, got "${path}"`);
  return ending as 'html' | 'pdf';
}

/** A paper as its file's name asks for it. What sets PDF is large: nothing else waits for it. */
export async function paperBytes(path: string, paper: Paper): Promise<string | Uint8Array> {
  if (paperKind('--out', path) === 'html') return paperHtml(paper, letterRules());
  const { writePdf } = await import('./write-pdf.ts');
  return writePdf(paperPdf(paper));
}
