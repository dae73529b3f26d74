import pdfMake from 'pdfmake/build/pdfmake.min.js';
import medium from 'pdfmake/fonts/Roboto/Roboto-Medium.ttf?url';
import regular from 'pdfmake/fonts/Roboto/Roboto-Regular.ttf?url';
import type { Paper } from '../../outputs/paper/paper.ts';
import { paperPdf } from '../../outputs/paper/paper-pdf.ts';
import { pdfLetters } from '../../outputs/paper/pdf-letters.ts';
import { serveQuestions } from '../remote/serve.ts';

export interface PdfQuestions {
  readonly pdf: { readonly asks: Paper; readonly gets: Uint8Array };
}

/** Sets papers as PDF: seconds of work, and half a megabyte of program that is wanted now and then. */
serveQuestions<PdfQuestions>({
  async pdf(paper) {
    const [normal, bold] = await Promise.all([regular, medium].map(fontBase64));
    const { files, fonts } = await pdfLetters();
    pdfMake.addVirtualFileSystem({ ...files, 'regular.ttf': normal, 'medium.ttf': bold });
    const roboto = { normal: 'regular.ttf', bold: 'medium.ttf', italics: 'regular.ttf', bolditalics: 'medium.ttf' };
    pdfMake.setFonts({ ...fonts, Roboto: roboto });
    const definition = paperPdf(paper) as unknown as Parameters<typeof pdfMake.createPdf>[0];
    const pdf = new Uint8Array(await pdfMake.createPdf(definition).getBuffer());
    return { gets: pdf, transfer: [pdf.buffer] };
  },
});

async function fontBase64(url: string): Promise<string> {
  const response = await fetch(url);
  if (!response.ok) throw new Error('its letters could not be loaded');
  const bytes = new Uint8Array(await response.arrayBuffer());
  let text = '';
  for (let i = 0; i < bytes.length; i += 8192) text += String.fromCharCode(...bytes.subarray(i, i + 8192));
  return btoa(text);
}
