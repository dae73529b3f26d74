import { encode as encodePng } from 'fast-png';
import { encodeSrgb } from '../../../base/color/srgb.ts';
import { openMachineFile } from '../../../outputs/program/machine-files.ts';
import { JobRefused } from '../../../outputs/program/refusals.ts';
import { encodePieceFile } from '../../../piece/file.ts';
import type { Piece } from '../../../piece/schema.ts';
import type { Card } from '../../../vision/card/card.ts';
import { type CardProgram, cardArchive, cardPiece } from '../../../vision/card/card-piece.ts';
import { cardPicture } from '../../../vision/card/picture.ts';
import { readBack } from '../../burn/worker/read-back.ts';
import type { CalibrateQuestions } from './messages.ts';

const PICTURE_FILE = 'card.png';

/** The programs that burn a card, one after another, with its data and what to do. */
export async function cardJob(piece: Piece, card: Card): Promise<CalibrateQuestions['job']['gets']> {
  const job = cardPiece(card, piece, PICTURE_FILE);
  const photo = { key: `card-${card.id}`, picture: cardPicture(card), castless: null };
  const programs: CardProgram[] = [];
  const cautions = new Set<string>();
  let seconds = 0;
  try {
    for (const index of job.passes.keys()) {
      const opened = await openMachineFile({ kind: 'pass', index }, job, photo);
      const parts = new Blob(Array.from(opened.parts, ({ bytes }) => bytes));
      if (opened.promise) await readBack(parts, opened.promise, async () => {});
      const name = `card-${card.id}-program-${index + 1}.gcode`;
      programs.push({ name, bytes: new Uint8Array(await parts.arrayBuffer()) });
      seconds += opened.timeS ?? 0;
      for (const caution of opened.cautions) cautions.add(caution);
    }
  } catch (error) {
    if (error instanceof JobRefused) return { refusals: error.refusals };
    throw error;
  }
  return { zip: cardArchive(card, programs), programs: programs.length, timeS: seconds, cautions: [...cautions] };
}

export function cardPieceFile(piece: Piece, card: Card): Uint8Array {
  const { width, height, luminance } = cardPicture(card);
  const data = Uint16Array.from(luminance, (value) => Math.round(65535 * encodeSrgb(value)));
  const png = encodePng({ width, height, data, depth: 16, channels: 1 });
  return encodePieceFile({ piece: cardPiece(card, piece, PICTURE_FILE), images: new Map([[PICTURE_FILE, png]]) });
}
