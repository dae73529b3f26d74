import { fitProblems } from '../../../base/input-error.ts';
import { createPiece } from '../../../piece/defaults.ts';
import {
  exportShelf,
  importShelf,
  mergeShelves,
  putOnShelf,
  type ShelfEntry,
  shelve,
  takeFromShelf,
} from '../../../studies/calibrate/shelf/shelf.ts';
import { setProof } from '../../burn/proof-store.ts';
import { readTextFile } from '../../files/read-file.ts';
import { saveFile } from '../../files/save-file.ts';
import { usePieceStore } from '../../store/piece-store.ts';
import { trying } from './busy.ts';
import { askCalibrate } from './calibrate-client.ts';
import { type Evidence, editWork, NO_NOTES, setCalibrate, useCalibrate } from './calibrate-store.ts';
import { keepDrawing, keepShelf, openShelf } from './kept.ts';
import { today } from './words.ts';

let reading: Promise<void> | null = null;

/** Reads what this browser keeps, once, and keeps it up to date from then on. */
export const openOwnShelf = (): Promise<void> => {
  reading ??= openShelf()
    .then(({ entries, refused }) => {
      setCalibrate(({ work }) => ({
        work: { ...work, entries },
        ...(refused.length > 0 && { fault: `The shelf of this browser: ${fitProblems(refused).join(' ')}` }),
      }));
      let kept = entries;
      useCalibrate.subscribe(({ work }) => {
        if (work.entries === kept) return;
        const before = kept;
        kept = work.entries;
        keepShelf(before, kept).catch(() =>
          setCalibrate({ fault: 'This browser has no room to keep the shelf; export it as a file.' }),
        );
      });
    })
    .catch((error: Error) => {
      setCalibrate({ fault: `The shelf of this browser cannot be read: ${error.message}. It is left as it is.` });
    });
  return reading;
};

/** Keeps the piece's numbers by a name, with a drawing of the card they came from. @returns whether it is there. */
export async function shelvePiece(name: string): Promise<boolean> {
  await trying('Keeping it', async () => {
    const { card, looks, work, record } = useCalibrate.getState();
    const { piece } = usePieceStore.getState();
    const from = record?.readings.at(-1) ?? work.readings.at(-1);
    const drawing =
      from && looks && card && from.card.id === card.id
        ? await keepDrawing({ card, looks: { ...looks, patches: { ...looks.patches, ...readLabs(from) } } })
        : '';
    if (name.trim() === '') throw new Error('give it a name to keep it by');
    const entry = shelve(piece, { name: name.trim(), date: today(), cardPicture: drawing });
    editWork({ entries: putOnShelf({ entries: work.entries }, entry).entries });
    setCalibrate({ chosen: entry.name, said: `“${entry.name}” is on the shelf.` });
  });
  return useCalibrate.getState().fault === null;
}

const readLabs = ({ reading: { patches } }: Evidence) => Object.fromEntries(patches.map(({ id, lab }) => [id, lab]));

export function takeEntry(entry: ShelfEntry): void {
  usePieceStore.getState().change((piece) => takeFromShelf(piece, entry));
  setCalibrate({
    said: `This piece now has the numbers of “${entry.name}”; one undo on the page takes it back.`,
    fault: null,
  });
  setProof({ notice: `The piece now has the numbers of “${entry.name}”. Undo takes them back.` });
}

/** @returns why the name cannot be had; null if it can. */
export function renameEntry(entry: ShelfEntry, name: string): string | null {
  const { entries } = useCalibrate.getState().work;
  const wanted = name.trim();
  if (wanted === '') return 'A name is needed.';
  if (wanted === entry.name) return null;
  if (entries.some((one) => one.name === wanted)) return `There is another “${wanted}” on the shelf.`;
  editWork({ entries: entries.map((one) => (one === entry ? { ...one, name: wanted } : one)) });
  setCalibrate({ chosen: wanted });
  return null;
}

export function removeEntry(entry: ShelfEntry): void {
  const { entries } = useCalibrate.getState().work;
  editWork({ entries: entries.filter((one) => one !== entry) });
  setCalibrate({ chosen: null, said: `“${entry.name}” is off the shelf; Undo brings it back.` });
}

export const exportOwnShelf = (entries: readonly ShelfEntry[]): void =>
  saveFile('shelf.json', new TextEncoder().encode(exportShelf({ entries })), 'application/json');

export const importShelfFile = (file: File): Promise<void> =>
  trying('Opening the shelf', async () => {
    let theirs: ReturnType<typeof importShelf>;
    try {
      theirs = importShelf(await readTextFile(file));
    } catch (error) {
      throw new Error(`${file.name}: ${(error as Error).message}`);
    }
    const { entries } = useCalibrate.getState().work;
    const { shelf, refused } = theirs;
    if (shelf.entries.length > 0) editWork({ entries: mergeShelves({ entries }, shelf).entries });
    const told = fitProblems(refused.map(({ name, reason }) => `“${name}”: ${reason}`)).join('; ');
    setCalibrate({
      said: `${shelf.entries.length} taken in from ${file.name}.`,
      fault: refused.length > 0 ? `${refused.length} refused, the rest is as it was. ${told}.` : null,
    });
  });

/** A check strip for the numbers of an entry, on the piece as it is. */
export const makeCheckStrip = (entry: ShelfEntry): Promise<void> =>
  trying('Drawing the check strip', async (signal) => {
    const piece = takeFromShelf(usePieceStore.getState().piece, entry);
    const { wish } = useCalibrate.getState().work;
    const { card, looks } = await askCalibrate('card', { piece, kind: 'check-strip', wish }, signal);
    editWork({ kind: 'check-strip', notes: NO_NOTES });
    setCalibrate({
      card,
      looks,
      cardKept: true,
      cardFault: null,
      part: 'card',
      said: `A check strip for “${entry.name}”: burn it, read it, then come back to the shelf.`,
    });
  });

export const checkEntry = (entry: ShelfEntry, { card, reading: read }: Evidence): Promise<void> =>
  trying('Comparing', async (signal) => {
    const piece = takeFromShelf(createPiece('', ''), entry);
    const drift = await askCalibrate('drift', { piece, card, reading: read }, signal);
    setCalibrate({ drift: { name: entry.name, drift } });
  });
