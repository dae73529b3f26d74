import { askOnce } from '../../base/remote/remote.ts';
import type { Paper } from '../../outputs/paper/paper.ts';
import { paperHtml } from '../../outputs/paper/paper-html.ts';
import { saveFile } from '../files/save-file.ts';
import { openWorker } from '../remote/worker-port.ts';
import type { PdfQuestions } from './pdf-worker.ts';

const pdfWorker = openWorker(
  () => new Worker(new URL('./pdf-worker.ts', import.meta.url), { type: 'module' }),
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
