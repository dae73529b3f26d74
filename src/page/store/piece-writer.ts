import type { Piece } from '../../piece/schema.ts';
import { freshId } from '../files/fresh-id.ts';
import { photoBytes } from '../files/photo-bytes.ts';
import { type Database, DURABLE } from './database.ts';
import { nearestSteps } from './history.ts';
import { type Work, wantedImages } from './images.ts';
import type { OpenPhoto, PieceState } from './piece-store.ts';
import { pinRecord } from './pin-record.ts';
import { type PieceRecord, RECORD_FORMAT } from './records.ts';
import { sweepImages } from './sweep.ts';

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

      const transaction = database.transaction(['images', 'steps', 'pieces', 'page'], 'readwrite', DURABLE);
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
