import type { Paper } from '../core/paper/paper.ts';
import { paperHtml } from '../core/paper/paper-html.ts';
import { saveFile } from './save-file.ts';
import type { PdfAnswer } from './worker/pdf-worker.ts';

/** Saves a paper as a document to print or as a page. @throws Error with a message for people. */
export async function savePaper(paper: Paper, name: string, kind: 'pdf' | 'html'): Promise<void> {
  if (kind === 'html') {
    saveFile(`${name}.html`, new TextEncoder().encode(paperHtml(paper)), 'text/html');
    return;
  }
  const worker = new Worker(new URL('./worker/pdf-worker.ts', import.meta.url), { type: 'module' });
  try {
    const answer = await new Promise<PdfAnswer>((resolve) => {
      worker.onmessage = ({ data }: MessageEvent<PdfAnswer>) => resolve(data);
      worker.onerror = (event) => resolve({ fault: event.message || 'its worker could not be started' });
      worker.postMessage(paper);
    });
    if ('fault' in answer)
      throw new Error(`The document could not be set (${answer.fault}); save the web page and print that.`);
    saveFile(`${name}.pdf`, answer.pdf, 'application/pdf');
  } finally {
    worker.terminate();
  }
}
