import { makeCard } from '../../core/calibrate/cards/make-card.ts';
import { parametersOf } from '../../core/calibrate/parameters.ts';
import { locateByCorners } from '../../core/calibrate/read/locate-by-corners.ts';
import { cardColors, readCardPhoto } from '../../core/calibrate/read/read-photo.ts';
import { readDrift } from '../../sim/calibrate/drift.ts';
import { FIT_WISH, fitCards } from '../../sim/calibrate/fit-card.ts';
import { proposeCards } from '../../sim/calibrate/propose.ts';
import { sentence } from '../slab-photo/sentence.ts';
import { workerScope } from '../worker/scope.ts';
import { cardJob, cardPieceFile } from './card-job.ts';
import { cardLooks } from './card-looks.ts';
import type { CalibrateName, CalibrateQuestions, FromCalibrateWorker, ToCalibrateWorker } from './messages.ts';
import { photoPixels } from './photo-pixels.ts';

const tell = (message: FromCalibrateWorker) => workerScope.postMessage(message);

workerScope.onmessage = ({ data }: MessageEvent<ToCalibrateWorker>) => {
  answer(data).then(
    (gets) => tell({ kind: 'answer', gets }),
    (error: unknown) =>
      tell({ kind: 'failed', message: sentence(error instanceof Error ? error.message : String(error)) }),
  );
};

async function answer(question: ToCalibrateWorker): Promise<CalibrateQuestions[CalibrateName]['gets']> {
  switch (question.name) {
    case 'propose': {
      const { piece, ...scrap } = question.asks;
      const count = Math.max(1, parametersOf(piece).length);
      return proposeCards(piece, scrap).map(({ kind, tells }) => ({ kind, keeps: Math.exp(-tells / count) }));
    }
    case 'card': {
      const { piece, kind, wish } = question.asks;
      const card = makeCard(kind, piece, wish);
      return { card, looks: cardLooks(piece, card) };
    }
    case 'looks':
      return cardLooks(question.asks.piece, question.asks.card);
    case 'job':
      return cardJob(question.asks.piece, question.asks.card);
    case 'piece':
      return cardPieceFile(question.asks.piece, question.asks.card);
    case 'open': {
      const { width, height, rgba } = await photoPixels(question.asks.file);
      return { bitmap: await createImageBitmap(new ImageData(new Uint8ClampedArray(rgba), width, height)) };
    }
    case 'read': {
      const { file, card, piece, chip, corners } = question.asks;
      const photo = await photoPixels(file);
      const colors = cardColors(piece, chip);
      return corners
        ? readCardPhoto(photo, card, colors, locateByCorners(photo, corners, card))
        : readCardPhoto(photo, card, colors);
    }
    case 'fit': {
      const { piece, read, known } = question.asks;
      return fitCards(piece, read, { ...FIT_WISH, known });
    }
    case 'drift': {
      const { piece, card, reading } = question.asks;
      return readDrift(piece, card, reading);
    }
  }
}
