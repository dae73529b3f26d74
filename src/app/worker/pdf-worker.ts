import pdfMake from 'pdfmake/build/pdfmake.min.js';
import medium from 'pdfmake/fonts/Roboto/Roboto-Medium.ttf?url';
import regular from 'pdfmake/fonts/Roboto/Roboto-Regular.ttf?url';
import type { Paper } from '../../core/paper/paper.ts';
import { paperPdf } from '../../core/paper/paper-pdf.ts';
import { workerScope } from './scope.ts';

export type PdfAnswer = { readonly pdf: Uint8Array } | { readonly fault: string };

/** Sets papers as PDF: seconds of work, and half a megabyte of program that is wanted now and then. */
workerScope.onmessage = async ({ data }: MessageEvent<Paper>) => {
  try {
    const [normal, bold] = await Promise.all([regular, medium].map(fontBase64));
    pdfMake.addVirtualFileSystem({ 'regular.ttf': normal, 'medium.ttf': bold });
    const roboto = { normal: 'regular.ttf', bold: 'medium.ttf', italics: 'regular.ttf', bolditalics: 'medium.ttf' };
    pdfMake.setFonts({ Roboto: roboto });
    const definition = paperPdf(data) as unknown as Parameters<typeof pdfMake.createPdf>[0];
    const pdf = new Uint8Array(await pdfMake.createPdf(definition).getBuffer());
    workerScope.postMessage({ pdf } satisfies PdfAnswer, [pdf.buffer as ArrayBuffer]);
  } catch (error) {
    workerScope.postMessage({ fault: error instanceof Error ? error.message : String(error) } satisfies PdfAnswer);
  }
};

async function fontBase64(url: string): Promise<string> {
  const bytes = new Uint8Array(await (await fetch(url)).arrayBuffer());
  let text = '';
  for (let i = 0; i < bytes.length; i += 8192) text += String.fromCharCode(...bytes.subarray(i, i + 8192));
  return btoa(text);
}
