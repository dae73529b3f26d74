import { askOnce } from '../../base/remote/remote.ts';
import { benchSheet } from '../../outputs/paper/bench-sheet.ts';
import { type Paper, PROOF_MM, picturePx } from '../../outputs/paper/paper.ts';
import { codeDrawing } from '../../outputs/paper/piece-code.ts';
import { type QuoteSum, quotePaper } from '../../outputs/paper/quote-paper.ts';
import { proofSentences } from '../../outputs/proof-sentences.ts';
import type { Piece } from '../../piece/schema.ts';
import type { HowSure } from '../../studies/sure/how-sure.ts';
import { ask } from '../burn/proof-remote.ts';
import type { ProofResult } from '../burn/worker/questions.ts';
import { dataAddress } from '../files/data-address.ts';
import { shrinkPhoto } from '../files/photo-bytes.ts';
import { openWorker } from '../remote/worker-port.ts';
import { codeAddress, keepByCode } from '../store/library.ts';
import { makerOf, useMakerStore } from '../store/maker.ts';
import type { OpenPhoto } from '../store/piece-store.ts';
import type { PdfQuestions } from './pdf-worker.ts';

/** A piece and the photograph that is on it. */
interface Pictured {
  readonly piece: Piece;
  readonly photo: OpenPhoto;
}

/** The paper that lies beside the machine. The worker keeps the proof by its id. */
export async function makeBenchSheet(
  { piece, photo }: Pictured,
  { id, result, sure }: { readonly id: string; readonly result: ProofResult; readonly sure: HowSure | null },
): Promise<Paper> {
  const code = await keepByCode({ piece, photo });
  const calibrated = piece.certainty.source === 'calibrated';
  const [proofUrl, ladder] = await Promise.all([
    paperPicture(id, photo.width / photo.height, PROOF_MM.sheet),
    calibrated ? [] : ask('ladder', { piece, photoKey: photo.key }),
  ]);
  return benchSheet({
    piece,
    photo,
    times: result.passes,
    proofUrl,
    maker: makerOf(piece, useMakerStore.getState()),
    predicted: proofSentences(result.summary, sure, piece.certainty.source),
    ladder,
    code,
    codeSvg: codeDrawing(codeAddress(code)),
  });
}

/** The page for the client, with the proof's picture if there is one. */
export async function makeQuote(
  { piece, photo }: Pictured,
  sums: readonly QuoteSum[],
  proofId: string | null,
): Promise<Paper> {
  const pictureUrl = proofId === null ? null : await paperPicture(proofId, photo.width / photo.height, PROOF_MM.quote);
  return quotePaper({
    piece,
    photo,
    sums,
    pictureUrl,
    maker: makerOf(piece, useMakerStore.getState()),
    today: Date.now(),
    locale: localeFor(piece.quote.language),
  });
}

/** The browser's own way of writing numbers, if it speaks the quote's language. */
export const localeFor = (language: string): string =>
  navigator.languages.find((one) => one.split('-')[0] === language) ?? language;

const pdfWorker = openWorker(
  () => new Worker(new URL('./pdf-worker.ts', import.meta.url), { type: 'module' }),
  'sets documents',
);

/** A paper as a document to print. @throws Error with a message for people. */
export const pdfOf = (paper: Paper): Promise<Uint8Array> =>
  askOnce<PdfQuestions, 'pdf'>(pdfWorker, 'pdf', paper).catch((error: Error) => {
    throw new Error(`The document could not be set (${error.message}); save the web page and print that.`);
  });

/** A proof as a JPEG data URL, as large as paper needs it for so many mm. @throws Error if nothing is kept of the proof. */
async function paperPicture(id: string, widthOverHeight: number, widthMm: number): Promise<string> {
  const png = await ask('picture', { id, which: 'proof' });
  const longest = picturePx(widthMm);
  const size = widthOverHeight >= 1 ? { resizeWidth: longest } : { resizeHeight: longest };
  const bitmap = await shrinkPhoto(new Blob([png as BlobPart], { type: 'image/png' }), {
    ...size,
    resizeQuality: 'high',
  });
  if (!bitmap) throw new Error('The browser cannot read the proof’s picture.');
  const canvas = new OffscreenCanvas(bitmap.width, bitmap.height);
  canvas.getContext('2d')?.drawImage(bitmap, 0, 0);
  bitmap.close();
  const blob = await canvas.convertToBlob({ type: 'image/jpeg', quality: 0.86 });
  return dataAddress(blob);
}
