import { pieceImages } from '../../piece/images.ts';
import type { Piece } from '../../piece/schema.ts';
import type { PinnedProof } from '../burn/proof-store.ts';
import { photoBytes } from '../files/photo-bytes.ts';
import { freshId } from '../files/save-file.ts';
import { rowOf } from './board-rows.ts';
import { type Database, DURABLE } from './database.ts';
import type { OpenPhoto, PieceState } from './piece-store.ts';
import { type PieceRecord, pinRecord, RECORD_FORMAT, sweepImages } from './records.ts';

/** What the browser holds of a piece already. */
export interface Held {
  /** Numbers of its steps, and those that could be read. */
  readonly numbers: readonly number[];
  readonly steps: readonly { readonly state: PieceState; readonly step: number }[];
  readonly images: ReadonlySet<string>;
}

export const NOTHING_HELD: Held = { numbers: [], steps: [], images: new Set() };

export interface PieceWriter {
  readonly id: string;
  /** All of it or nothing; has begun to write when it returns. Rejects with the storage's error. */
  write(database: Database, work: Work): Promise<void>;
}

const texts = new WeakMap<Piece, string>();

/** JSON of a piece, made once for each: pieces are never changed in place. */
export function jsonOf(piece: Piece): string {
  const text = texts.get(piece) ?? JSON.stringify(piece);
  texts.set(piece, text);
  return text;
}

/** This tab, as the owner of pieces. */
export const OWNER = freshId('tab');

/** Writes a piece under an id: images that are not there yet first, then new steps, the piece itself last, in one transaction. */
export function createPieceWriter(id: string, held: Held): PieceWriter {
  const numbers = new WeakMap<Piece, { readonly photo: OpenPhoto | null; readonly step: number }[]>();
  let steps: ReadonlySet<number> = new Set(held.numbers);
  let images = held.images;
  let next = Math.max(0, ...steps) + 1;

  const number = ({ piece, photo }: PieceState, step: number): void => {
    numbers.set(piece, [...(numbers.get(piece) ?? []), { photo, step }]);
  };
  for (const { state, step } of held.steps) number(state, step);
  function stepOf(state: PieceState): number {
    const known = () => numbers.get(state.piece)?.find(({ photo }) => photo === state.photo)?.step;
    if (known() === undefined) number(state, next++);
    return known()!;
  }

  return {
    id,
    async write(database, work) {
      const { past, future } = nearestSteps(work, ({ piece }) => jsonOf(piece).length);
      const kept = new Map([...past, ...future].map((state) => [stepOf(state), state]));
      const wanted = wantedImages({ ...work, past, future });
      const { piece, photo } = work.state;
      const record: PieceRecord = {
        format: RECORD_FORMAT,
        id,
        owner: OWNER,
        title: piece.name,
        changedAt: Date.now(),
        piece: jsonOf(piece),
        photo,
        images: [...wanted],
        past: past.map(stepOf),
        future: future.map(stepOf),
        pins: work.pins.map((pin) => pinRecord(pin, jsonOf)),
      };

      const transaction = database.transaction(['images', 'steps', 'pieces', 'board', 'page'], 'readwrite', DURABLE);
      const there = new Set(images);
      const asked: Promise<unknown>[] = [transaction.done];
      try {
        for (const name of wanted) {
          const bytes = photoBytes(name);
          if (images.has(name) || !bytes) continue;
          asked.push(transaction.objectStore('images').put({ name, bytes }));
          there.add(name);
        }
        const stepStore = transaction.objectStore('steps');
        for (const [step, { piece, photo }] of kept) {
          if (!steps.has(step)) asked.push(stepStore.put({ of: id, step, piece: jsonOf(piece), photo }));
        }
        for (const step of steps) if (!kept.has(step)) asked.push(stepStore.delete([id, step]));
        asked.push(transaction.objectStore('page').put(id, 'last'));
        asked.push(transaction.objectStore('board').put(rowOf(record, piece)));
        asked.push(transaction.objectStore('pieces').put(record));
        transaction.commit();
      } catch (error) {
        // Half of it must not stand there.
        transaction.abort();
        await Promise.allSettled(asked);
        throw error;
      }
      await Promise.all(asked);

      const shed = [...there].some((name) => !wanted.has(name));
      steps = new Set(kept.keys());
      images = new Set([...there].filter((name) => wanted.has(name)));
      if (shed) await sweepImages(database).catch(() => {});
    },
  };
}

/** Characters of JSON that the steps of one piece may take together. */
const MOST_HISTORY_CHARACTERS = 8e6;

interface History<Step> {
  /** The oldest first. */
  readonly past: readonly Step[];
  /** The next one to redo last. */
  readonly future: readonly Step[];
}

/** The steps nearest to now, both ways, as far as there is room for them. */
export function nearestSteps<Step>(
  { past, future }: History<Step>,
  sizeOf: (step: Step) => number,
  room = MOST_HISTORY_CHARACTERS,
): History<Step> {
  let left = room;
  let [undos, redos] = [0, 0];
  for (let i = 1; i <= Math.max(past.length, future.length); i++) {
    if (i <= past.length) {
      left -= sizeOf(past[past.length - i]);
      if (left < 0) break;
      undos = i;
    }
    if (i <= future.length) {
      left -= sizeOf(future[future.length - i]);
      if (left < 0) break;
      redos = i;
    }
  }
  return { past: past.slice(past.length - undos), future: future.slice(future.length - redos) };
}

/** All of a piece that is kept: as it is, what undo and redo go to, and its pinned proofs. */
export interface Work {
  readonly state: PieceState;
  readonly past: readonly PieceState[];
  readonly future: readonly PieceState[];
  readonly pins: readonly PinnedProof[];
}

/** Names of all photographs and images that the work wants, now or after undo, redo or a look at a pin. */
export function wantedImages({ state, past, future, pins }: Work): ReadonlySet<string> {
  const names = new Set<string>();
  for (const { piece, photo } of [state, ...past, ...future]) {
    if (photo) names.add(photo.key);
    for (const name of pieceImages(piece)) names.add(name);
  }
  for (const { record } of pins) {
    names.add(record.photoKey);
    for (const name of pieceImages(record.piece)) names.add(name);
  }
  return names;
}
