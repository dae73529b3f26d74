import { fileName } from '../../base/file-name.ts';
import { parsePiece } from '../../piece/file.ts';
import { openPhoto } from '../burn/proof-remote.ts';
import { setProof } from '../burn/proof-store.ts';
import { inBackground } from '../faults/lazy-part.tsx';
import { rememberPhoto } from '../files/photo-bytes.ts';
import { saveFile } from '../files/save-file.ts';
import { forgetRow } from './board-rows.ts';
import { openDatabase } from './database.ts';
import { beginPiece, discard, holdPiece, leavePiece, placePiece, useKeepingStore } from './keeping.ts';
import { copyOf, type KeptPiece, keptPieceFile, ownPiece, readKeptPiece } from './library.ts';
import type { PieceState } from './piece-store.ts';
import { createPieceWriter, type Held, type Work } from './piece-writer.ts';
import { glance, type Moment, readPin } from './records.ts';

/**
 * Opens a kept piece with its undo and its pins. One that is open in another tab is shown as a copy, which is kept once it is changed; one
 * that cannot be read stays as it is and is offered as a file.
 * @returns whether something was opened.
 */
export async function openKept(id: string): Promise<boolean> {
  if (id === useKeepingStore.getState().id) return true;
  const isLatest = beginOpening();
  const database = await openDatabase();
  const letGo = await holdPiece(id);
  let kept: KeptPiece | null;
  try {
    kept = await readKeptPiece(database, id);
  } catch (error) {
    letGo?.();
    await forgetRow(database, id);
    const { title } = glance(await database.getFromIndex('pieces', 'id', id));
    const text = `“${title}” cannot be opened: ${(error as Error).message}. It stays in this browser as it is.`;
    setProof({ notice: { text, offers: [fileOffer(id)] } });
    return false;
  }
  if (!kept) {
    letGo?.();
    return false;
  }
  const work = await workOf(kept);
  if (letGo) await ownPiece(database, kept.record);
  // Nothing is awaited between this and the piece on the table: what was changed meanwhile would be lost.
  if (!isLatest() || !(await leavePiece(() => inBackground(openKept(id))))) {
    letGo?.();
    discard(work.state);
    return true;
  }
  for (const [name, bytes] of kept.images) rememberPhoto(name, bytes);
  if (letGo) placePiece(work, { writer: createPieceWriter(id, work.held), letGo });
  else showCopy(id, work.state);
  return true;
}

/** The kept piece taken apart, its photograph decoded; says so if something of it is missing. */
async function workOf({ record, piece, numbers, steps, images }: KeptPiece): Promise<Work & { readonly held: Held }> {
  const { photo } = record;
  const fault = await photoFault(photo && images.get(photo.key), photo?.key);
  const moments = new Map<number, PieceState>();
  for (const [step, moment] of steps) {
    const state = readMoment(moment);
    if (state) moments.set(step, state);
    // Two hundred of them at once would hold the page up.
    if (moments.size % 10 === 0) await new Promise((resolve) => setTimeout(resolve));
  }
  const pins = record.pins.flatMap(readPin);
  const told: string[] = [];
  if (fault !== null) {
    told.push(`its photograph ${photo?.name ?? piece.picture.file} ${fault}: open that file again to go on`);
  }
  if (pins.length < record.pins.length) told.push('a pinned proof of it cannot be read and is left out');
  if (told.length > 0) setProof({ notice: `“${piece.name}” is open, but ${told.join('; ')}.` });
  // Undo cannot jump over a step that is lost.
  const nearest = (wanted: readonly number[]) =>
    unbroken(wanted.toReversed().map((step) => moments.get(step))).reverse();
  return {
    state: { piece, photo },
    past: nearest(record.past),
    future: nearest(record.future),
    pins,
    held: {
      numbers,
      steps: [...moments].map(([step, state]) => ({ step, state })),
      images: new Set(images.keys()),
    },
  };
}

async function photoFault(bytes: Uint8Array | null | undefined, key = ''): Promise<string | null> {
  if (!bytes) return 'is missing or damaged in this browser';
  return openPhoto(key, bytes).then(
    () => null,
    (error: Error) => error.message,
  );
}

function readMoment({ piece, photo }: Moment): PieceState | null {
  try {
    return { piece: parsePiece(piece), photo };
  } catch {
    return null;
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
      offers: [{ label: 'I closed the other tab', onPress: () => inBackground(openKept(id)) }],
    },
  });
}

const fileOffer = (id: string) => ({ label: 'Save it as a file', onPress: () => inBackground(saveKeptFile(id)) });

/** A kept piece as a file, as it stands there. */
export async function saveKeptFile(id: string): Promise<void> {
  const { title, bytes } = await keptPieceFile(await openDatabase(), id);
  saveFile(`${fileName(title)}.foreburn`, bytes, 'application/zip');
}

let latest = 0;

/**
 * Begins to open something; what was begun before it and is not there yet must not take its place.
 * @returns whether it still is the last one begun.
 */
export function beginOpening(): () => boolean {
  latest++;
  const own = latest;
  return () => own === latest;
}
