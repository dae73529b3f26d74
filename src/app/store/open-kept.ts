import { parsePiece } from '../../core/piece/parse.ts';
import { fileName } from '../file-name.ts';
import { rememberPhoto } from '../photo-bytes.ts';
import { openPhoto } from '../proof-client.ts';
import { saveFile } from '../save-file.ts';
import type { PieceState } from '../stores/piece-store.ts';
import { setProof } from '../stores/proof-store.ts';
import { openDatabase } from './database.ts';
import { beginPiece, leavePiece, placePiece } from './keeping.ts';
import { useKeeping } from './keeping-store.ts';
import { copyOf, type KeptPiece, keptPieceFile, ownPiece, readKeptPiece } from './library.ts';
import { holdPiece } from './lock.ts';
import { beginOpening } from './opening.ts';
import { createPieceWriter } from './piece-writer.ts';
import { readPin } from './pin-record.ts';
import type { Moment } from './records.ts';

/**
 * Opens a kept piece with its undo and its pins. One that is open in another tab is shown as a copy, which is kept once it is changed; one
 * that cannot be read stays as it is and is offered as a file.
 * @returns whether something was opened.
 */
export async function openKept(id: string): Promise<boolean> {
  if (id === useKeeping.getState().id) return true;
  const isLatest = beginOpening();
  const database = await openDatabase();
  const letGo = await holdPiece(id);
  let kept: KeptPiece | null;
  try {
    kept = await readKeptPiece(database, id);
  } catch (error) {
    letGo?.();
    setProof({ notice: { text: await unreadable(id, error as Error), offers: [fileOffer(id)] } });
    return false;
  }
  if (!kept || !isLatest()) {
    letGo?.();
    return kept !== null;
  }
  const state = await openState(kept);
  if (!isLatest() || !(await leavePiece(() => void openKept(id)))) {
    letGo?.();
    return true;
  }
  if (!letGo) {
    showCopy(id, state);
    return true;
  }
  await ownPiece(database, kept.record);
  const { record, numbers, images } = kept;
  const steps = new Map([...kept.steps].flatMap(([step, moment]) => readMoment(moment).map((one) => [step, one])));
  const known = (step: number) => steps.get(step);
  // Undo cannot jump over a step that is lost.
  const past = unbroken(record.past.toReversed().map(known)).reverse();
  const future = unbroken(record.future.toReversed().map(known)).reverse();
  const held = {
    numbers,
    steps: [...steps].map(([step, at]) => ({ step, state: at })),
    images: new Set(images.keys()),
  };
  placePiece(
    { state, past, future, pins: record.pins.flatMap(readPin) },
    { writer: createPieceWriter(id, held), letGo },
  );
  return true;
}

/** The piece as it was left, its photograph and images ready; says so if one of them is missing. */
async function openState({ record, piece, images }: KeptPiece): Promise<PieceState> {
  for (const [name, bytes] of images) rememberPhoto(name, bytes);
  const { photo } = record;
  const bytes = photo && images.get(photo.key);
  const fault = !photo || !bytes ? 'is missing or damaged in this browser' : await decodeFault(photo.key, bytes);
  if (fault !== null) {
    const name = photo?.name ?? piece.picture.file;
    setProof({
      notice: `“${piece.name}” is open, but its photograph ${name} ${fault}: open that file again to go on.`,
    });
  }
  return { piece, photo };
}

const decodeFault = (key: string, bytes: Uint8Array): Promise<string | null> =>
  openPhoto(key, bytes).then(
    () => null,
    (error: Error) => error.message,
  );

function readMoment({ piece, photo }: Moment): PieceState[] {
  try {
    return [{ piece: parsePiece(piece), photo }];
  } catch {
    return [];
  }
}

function unbroken<Step>(steps: readonly (Step | undefined)[]): Step[] {
  const end = steps.indexOf(undefined);
  return (end < 0 ? steps : steps.slice(0, end)) as Step[];
}

function showCopy(id: string, { piece, photo }: PieceState): void {
  const copy = copyOf(piece);
  beginPiece({ piece: copy, photo }, { keeps: 'once changed' });
  setProof({
    notice: {
      text: `“${piece.name}” is open in another tab. This is a copy: what you change here is kept beside it and does not touch it.`,
      offers: [{ label: 'I closed the other tab', onPress: () => void openKept(id) }],
    },
  });
}

async function unreadable(id: string, { message }: Error): Promise<string> {
  const { title } = await keptPieceFile(await openDatabase(), id);
  return `“${title}” cannot be opened: ${message}. It stays in this browser as it is.`;
}

const fileOffer = (id: string) => ({ label: 'Save it as a file', onPress: () => void saveKeptFile(id) });

/** A kept piece as a file, as it stands there. */
export async function saveKeptFile(id: string): Promise<void> {
  const { title, bytes } = await keptPieceFile(await openDatabase(), id);
  saveFile(`${fileName(title)}.foreburn`, bytes, 'application/zip');
}
