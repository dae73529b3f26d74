import { rename, rm, writeFile } from 'node:fs/promises';
import type { Paper } from '../core/paper/paper.ts';
import { paperHtml } from '../core/paper/paper-html.ts';
import { paperPdf } from '../core/paper/paper-pdf.ts';
import { CliError, UsageError } from './io.ts';
import { writePdf } from './write-pdf.ts';

/** What kind of file a paper's name asks for. @throws UsageError for any other ending. */
export function paperKind(option: string, path: string): 'html' | 'pdf' {
  const ending = /\.(html|pdf)$/i.exec(path)?.[1].toLowerCase();
  if (!ending) throw new UsageError(`${option}: must end in .html or .pdf, got "${path}"`);
  return ending as 'html' | 'pdf';
}

/** Writes a paper under its name once all of it is there. @throws CliError naming the file. */
export async function writePaper(path: string, paper: Paper): Promise<void> {
  const bytes = paperKind('--out', path) === 'html' ? paperHtml(paper) : await writePdf(paperPdf(paper));
  const unfinished = `${path}.part`;
  try {
    await writeFile(unfinished, bytes);
    await rename(unfinished, path);
  } catch (error) {
    await rm(unfinished, { force: true });
    throw new CliError(`${path}: cannot be written (${(error as Error).message})`);
  }
}
