import type { Point } from '../../../base/geometry/point.ts';
import type { LogEntry } from '../../../piece/schema.ts';
import { offsetOfPair, readByEye } from '../../../vision/card/by-eye.ts';
import type { Card } from '../../../vision/card/card.ts';
import { markCentres } from '../../../vision/card/geometry.ts';
import type { CardReading } from '../../../vision/card/reading.ts';
import { type LightAreas, slabOutcome } from '../../../vision/card/slab-outcome.ts';
import { usePieceStore } from '../../store/piece-store.ts';
import { trying } from './busy.ts';
import { askCalibrate } from './calibrate-client.ts';
import { type CardPhoto, type Evidence, editWork, setCalibrate, useCalibrate } from './calibrate-store.ts';
import { KIND_LABELS } from './words.ts';

/** Puts a reading in place of one of the same card. */
function takeReading(card: Card, reading: CardReading, title: string): void {
  const { readings } = useCalibrate.getState().work;
  const evidence: Evidence = { card, reading, title, usedIn: [] };
  const others = readings.filter((one) => one.card.id !== card.id || one.card.kind !== card.kind);
  editWork({ readings: [...others, evidence] });
  setCalibrate({ cardKept: true, record: null });
}

const titleOf = (card: Card, how: string): string => `${KIND_LABELS[card.kind]} ${card.id}, read ${how}`;

/** Keeps what the eye saw. @returns whether it made a reading. */
export function keepNotes(): boolean {
  const { card, work } = useCalibrate.getState();
  if (!card) return false;
  try {
    const ladders = card.ladders.flatMap(({ name }) => {
      const seen = work.notes.ladders[name];
      return seen ? [{ ladder: name, ...seen }] : [];
    });
    const { widths, pair } = work.notes;
    if (pair !== null) offsetOfPair(card, pair);
    takeReading(card, readByEye(card, { ladders, widths, pair }), titleOf(card, 'by eye'));
    setCalibrate({ said: 'Kept. Fit it, or read another card as well.' });
    return true;
  } catch (error) {
    const message = (error as Error).message;
    setCalibrate({ fault: `${message[0].toUpperCase()}${message.slice(1)}.`, said: null });
    return false;
  }
}

const chipOf = (lightness: number | null) =>
  lightness === null ? null : ([lightness, 0, 0] as [number, number, number]);

export const openCardPhoto = (file: File): Promise<void> =>
  trying('Looking for the card', async (signal) => {
    const { bitmap } = await askCalibrate('open', { file }, signal);
    setCalibrate({ photo: { file, bitmap, corners: null, byHand: false } });
    await readPhoto(signal);
  });

export const readAgain = (): Promise<void> => trying('Reading the card', readPhoto);

async function readPhoto(signal: AbortSignal): Promise<void> {
  const { card, photo, chipLightness } = useCalibrate.getState();
  if (!card || !photo) return;
  const { piece } = usePieceStore.getState();
  const corners = photo.byHand ? photo.corners : null;
  const asks = { file: photo.file, card, piece, chip: chipOf(chipLightness), corners };
  const { reading, marksPx, warning } = await askCalibrate('read', asks, signal);
  // Whatever was moved meanwhile is not what was read.
  setCalibrate((now) => (now.photo === photo ? { photo: { ...photo, corners: marksPx } } : {}));
  takeReading(card, reading, titleOf(card, 'off a photograph'));
  setCalibrate({ said: `Read. ${warning ? `${warning} ` : ''}Check the corners and the patches, then fit.` });
}

/** Lays the four corners on the photo for the maker to place. */
export function placeCorners(photo: CardPhoto, card: Card): void {
  const { width, height } = photo.bitmap;
  const scale = 0.8 * Math.min(width / card.widthMm, height / card.heightMm);
  const corners = markCentres(card).map(
    ([x, y]): Point => [width / 2 + scale * (x - card.widthMm / 2), height / 2 + scale * (y - card.heightMm / 2)],
  );
  setCalibrate({ photo: { ...photo, corners, byHand: true }, fault: null });
}

export function moveCorner(photo: CardPhoto, index: number, [x, y]: Point): void {
  if (!photo.corners) return;
  const { width, height } = photo.bitmap;
  const at: Point = [Math.min(width, Math.max(0, x)), Math.min(height, Math.max(0, y))];
  setCalibrate({
    photo: { ...photo, byHand: true, corners: photo.corners.map((corner, i) => (i === index ? at : corner)) },
  });
}

/** A finished slab as evidence. @returns whether it tells something. */
export function takeSlab({ passes, burnedAt }: Pick<LogEntry, 'passes' | 'burnedAt'>, areas: LightAreas): boolean {
  try {
    const { card, reading } = slabOutcome(usePieceStore.getState().piece, passes, areas);
    takeReading(card, reading, `Finished slab, ${burnedAt.slice(0, 10)}`);
    setCalibrate({ part: 'fit' });
    return true;
  } catch (error) {
    setCalibrate({ fault: `${(error as Error).message}.` });
    return false;
  }
}
