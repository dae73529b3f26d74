import { encode as encodePng } from 'fast-png';
import { encodeSrgb } from '../../../base/color/srgb.ts';
import { encodePieceFile } from '../../../piece/file.ts';
import type { Piece } from '../../../piece/schema.ts';
import type { Card } from '../../../vision/card/card.ts';
import { CARD_PREPARATION, cardPiece } from '../../../vision/card/card-piece.ts';
import { cardPicture } from '../../../vision/card/picture.ts';
import { answerScrapJob } from '../../burn/worker/scrap-job.ts';
import type { CalibrateQuestions } from './messages.ts';

const PICTURE_FILE = 'card.png';

/** The programs that burn a card, one after another, with its data and what to do. */
export function cardJob(piece: Piece, card: Card, signal: AbortSignal): Promise<CalibrateQuestions['job']['gets']> {
  const name = `card-${card.id}`;
  const data = new TextEncoder().encode(`${JSON.stringify(card, null, 2)}\n`);
  return answerScrapJob(
    {
      title: `Card ${card.id} (${card.kind})`,
      name,
      piece: cardPiece(card, piece, PICTURE_FILE),
      photo: { key: name, picture: cardPicture(card), castless: null },
      before: CARD_PREPARATION,
      after: [`Photograph or scan the card, and read it in Foreburn with ${name}.json.`],
      files: [{ name: `${name}.json`, bytes: data }],
    },
    signal,
  );
}

export function cardPieceFile(piece: Piece, card: Card): Uint8Array {
  const { width, height, luminance } = cardPicture(card);
  const data = Uint16Array.from(luminance, (value) => Math.round(65535 * encodeSrgb(value)));
  const png = encodePng({ width, height, data, depth: 16, channels: 1 });
  return encodePieceFile({ piece: cardPiece(card, piece, PICTURE_FILE), images: new Map([[PICTURE_FILE, png]]) });
}
