import type { Piece } from '../../../piece/schema.ts';
import { readDrift } from '../../../studies/calibrate/drift.ts';
import { FIT_WISH, fitCards } from '../../../studies/calibrate/fit-card.ts';
import { createCardOracle } from '../../../studies/calibrate/predict-card.ts';
import { fittedClearing, proposeCards } from '../../../studies/calibrate/propose.ts';
import type { Card } from '../../../vision/card/card.ts';
import { locateByCorners } from '../../../vision/card/locate-card.ts';
import { makeCard } from '../../../vision/card/make-card.ts';
import { cardColors, readCardPhoto } from '../../../vision/card/read-photo.ts';
import { photoPixels } from '../../files/photo-pixels.ts';
import { serveQuestions } from '../../remote/serve.ts';
import { cardJob, cardPieceFile } from './card-job.ts';
import type { CalibrateQuestions, CardLooks } from './messages.ts';

/** Cards are read off so many pixels: finer ones take longer and tell no more. */
const WANTED = { longestPx: 3000, leastPx: 200, purpose: 'a card can be read' };

serveQuestions<CalibrateQuestions>({
  propose({ piece, ...scrap }) {
    return { gets: proposeCards(piece, scrap).map(({ kind, tells }) => ({ kind, keeps: Math.exp(-tells) })) };
  },
  card({ piece, kind, wish }) {
    const card = makeCard(kind, piece, { ...wish, clearing: fittedClearing(piece) });
    return { gets: { card, looks: cardLooks(piece, card) } };
  },
  looks: ({ piece, card }) => ({ gets: cardLooks(piece, card) }),
  job: async ({ piece, card }, { signal }) => ({ gets: await cardJob(piece, card, signal) }),
  piece: async ({ piece, card }) => ({ gets: await cardPieceFile(piece, card) }),
  async open({ file }) {
    const { width, height, rgba } = await photoPixels(file, WANTED);
    return { gets: { bitmap: await createImageBitmap(new ImageData(new Uint8ClampedArray(rgba), width, height)) } };
  },
  async read({ file, card, piece, chip, corners }) {
    const photo = await photoPixels(file, WANTED);
    const colors = cardColors(piece, chip);
    const located = corners ? locateByCorners(photo, corners, card) : undefined;
    return { gets: readCardPhoto(photo, card, colors, located) };
  },
  fit: async ({ piece, read, known }) => ({ gets: await fitCards(piece, read, { ...FIT_WISH, known }) }),
  drift: async ({ piece, card, reading }) => ({ gets: await readDrift(piece, card, reading) }),
});

/** What a card is expected to come out as by a piece's numbers. */
function cardLooks(piece: Piece, card: Card): CardLooks {
  const oracle = createCardOracle(piece);
  const { paint, bare } = cardColors(piece);
  const marks = oracle.patch(piece, { burns: [card.marking], warmthPerShareK: [0] }).lab;
  return {
    paint,
    bare,
    marks,
    patches: Object.fromEntries(card.patches.map((patch) => [patch.id, oracle.patch(piece, patch).lab])),
    lines: Object.fromEntries(card.lines.map(({ id, burn }) => [id, oracle.line(piece, burn)])),
  };
}
