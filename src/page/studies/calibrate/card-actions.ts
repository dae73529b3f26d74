import type { Piece } from '../../../piece/schema.ts';
import { type Card, parseCard } from '../../../vision/card/card.ts';
import { duration } from '../../burn/words.ts';
import { inBackground } from '../../faults/tell-fault.ts';
import { readTextFile } from '../../files/read-file.ts';
import { saveFile } from '../../files/save-file.ts';
import { usePieceStore } from '../../store/piece-store.ts';
import { trying } from './busy.ts';
import { askCalibrate } from './calibrate-client.ts';
import { editWork, NO_NOTES, setCalibrate, useCalibrate, type Work } from './calibrate-store.ts';
import { keepCard, keptCards } from './kept.ts';
import { KIND_LABELS, today } from './words.ts';

let drawing: AbortController | null = null;

/** Makes the card anew for what is chosen and the piece as it is; a card that was saved or read stays. */
export async function drawCard(piece: Piece, { kind, wish }: Pick<Work, 'kind' | 'wish'>): Promise<void> {
  drawing?.abort();
  drawing = new AbortController();
  const { signal } = drawing;
  try {
    const { card, looks } = await askCalibrate('card', { piece, kind, wish }, signal);
    setCalibrate({ card, looks, cardFault: null });
  } catch (error) {
    if (!signal.aborted) setCalibrate({ cardFault: (error as Error).message });
  }
}

/** Chooses what the next card is; it follows the piece again until it is saved. */
export function chooseCard(part: Partial<Pick<Work, 'kind' | 'wish'>>): void {
  setCalibrate({ cardKept: false });
  editWork({ ...part, notes: NO_NOTES });
}

let weighing: AbortController | null = null;

/** Works out which card tells most, beside everything else. */
export async function weighCards(piece: Piece, widthMm: number, heightMm: number): Promise<void> {
  const key = JSON.stringify([piece.stack, piece.machine, piece.certainty, piece.passes[0], widthMm, heightMm]);
  if (useCalibrate.getState().worthsFor === key) return;
  weighing?.abort();
  weighing = new AbortController();
  const { signal } = weighing;
  setCalibrate({ worths: null, worthsFor: key });
  try {
    setCalibrate({ worths: await askCalibrate('propose', { piece, widthMm, heightMm }, signal) });
  } catch {
    // No card fits or it was stopped: the maker chooses without advice.
    if (!signal.aborted) setCalibrate({ worths: [] });
  }
}

async function keep(card: Card): Promise<void> {
  setCalibrate({ cardKept: true });
  // Without room in the browser the card's own file is what is left.
  await keepCard(card, today()).then(
    (cards) => setCalibrate({ cards }),
    () => {},
  );
}

export const saveCardJob = (): Promise<void> =>
  trying('Writing the programs', async (signal) => {
    const { card } = useCalibrate.getState();
    if (!card) return;
    const made = await askCalibrate('job', { piece: usePieceStore.getState().piece, card }, signal);
    if ('refusals' in made) throw new Error(made.refusals.map(({ message }) => message).join(' '));
    saveFile(`card-${card.id}.zip`, made.zip, 'application/zip');
    await keep(card);
    const programs = made.programs === 1 ? 'one program' : `${made.programs} programs, to be run in their order`;
    setCalibrate({
      said: `Saved card-${card.id}.zip: ${programs}, ${duration(made.timeS)} of burning. ${made.cautions.join(' ')}`.trim(),
    });
  });

export const saveCardPiece = (): Promise<void> =>
  trying('Drawing the card', async (signal) => {
    const { card } = useCalibrate.getState();
    if (!card) return;
    const bytes = await askCalibrate('piece', { piece: usePieceStore.getState().piece, card }, signal);
    saveFile(`card-${card.id}.foreburn`, bytes, 'application/zip');
    await keep(card);
    setCalibrate({
      said: `Saved card-${card.id}.foreburn; open it as a piece to proof it or to set its place on the bed.`,
    });
  });

export function saveCardData(): void {
  const { card } = useCalibrate.getState();
  if (!card) return;
  saveFile(`card-${card.id}.json`, new TextEncoder().encode(`${JSON.stringify(card, null, 2)}\n`), 'application/json');
  inBackground(keep(card));
  setCalibrate({ said: `Saved card-${card.id}.json; it is what the card is read by later.`, fault: null });
}

const show = (card: Card, signal: AbortSignal): Promise<void> =>
  askCalibrate('looks', { piece: usePieceStore.getState().piece, card }, signal).then((looks) =>
    setCalibrate({ card, looks, cardKept: true, cardFault: null, photo: null }),
  );

/** Shows a card that was saved before. */
export const takeCard = (card: Card): Promise<void> =>
  trying('Drawing the card', async (signal) => {
    await show(card, signal);
    editWork({ notes: NO_NOTES });
  });

export const openCardFile = (file: File): Promise<void> =>
  trying('Opening the card', async (signal) => {
    let card: Card;
    try {
      card = parseCard(await readTextFile(file));
    } catch (error) {
      throw new Error(`${file.name}: ${(error as Error).message}`);
    }
    await show(card, signal);
    editWork({ notes: NO_NOTES });
    setCalibrate({ said: `Card ${card.id}, ${KIND_LABELS[card.kind].toLowerCase()}, is ready to be read.` });
  });

export const openKeptCards = (): Promise<void> =>
  keptCards().then(
    (cards) => setCalibrate({ cards }),
    () => {},
  );
