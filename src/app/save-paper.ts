import type { Paper } from '../core/paper/paper.ts';
import { paperHtml } from '../core/paper/paper-html.ts';
import { askOnce } from '../core/remote/remote.ts';
import { openWorker } from './remote/worker-port.ts';
import { saveFile } from './save-file.ts';
import type { PdfQuestions } from './worker/pdf-worker.ts';

const pdfWorker = openWorker(
  () => new Worker(new URL('./worker/pdf-worker.ts', import.meta.url), { type: 'module' }),
  'sets documents',
);

/** Saves a paper as a document to print or as a page. @throws Error with a message for people. */
export async function savePaper(paper: Paper, name: string, kind: 'pdf' | 'html'): Promise<void> {
  if (kind === 'html') {
    saveFile(`${name}.html`, new TextEncoder().encode(paperHtml(paper)), 'text/html');
    return;
  }
  const pdf = await askOnce<PdfQuestions, 'pdf'>(pdfWorker, 'pdf', paper).catch((error: Error) => {
    throw new Error(`The document could not be set (${error.message}); save the web page and print that.`);
  });
  saveFile(`${name}.pdf`, pdf, 'application/pdf');
}
