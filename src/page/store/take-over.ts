import { openDB } from 'idb';
import { freshId } from '../files/fresh-id.ts';
import { keyOf } from '../files/photo-bytes.ts';
import { type Database, DURABLE } from './database.ts';
import { fromEarlier } from './from-earlier.ts';
import { OWNER } from './piece-writer.ts';

/** Where an earlier page kept its work, and all the rest. */
const WORK = 'foreburn-piece';
const DATABASE = 'keyval-store';
const STORE = 'keyval';
const OURS = /^foreburn-/;

/** Says that this step is done, should the browser be killed before what it took over is deleted. */
const DONE = 'took over the earlier layout';

/** Takes over, once, what an earlier page kept in this browser, and deletes it there when it is safe here. */
export async function takeOverEarlier(database: Database): Promise<void> {
  const work = earlierWork();
  const store = await openEarlierStore();
  const keys = store ? (await store.getAllKeys(STORE)).filter((key) => OURS.test(String(key))) : [];
  if ((work !== null || keys.length > 0) && (await database.get('page', DONE)) !== true) {
    const entries = new Map<string, unknown>();
    for (const key of keys) entries.set(String(key), await store?.get(STORE, key));
    await keep(
      database,
      await fromEarlier({ work, entries }, { id: freshId('piece'), owner: OWNER, now: Date.now(), keyOf }),
    );
  }
  for (const key of keys) await store?.delete(STORE, key);
  store?.close();
  if (work !== null) localStorage.removeItem(WORK);
}

function earlierWork(): string | null {
  try {
    return localStorage.getItem(WORK);
  } catch {
    return null;
  }
}

/** Null where there is none; it is not made by asking for it. */
async function openEarlierStore() {
  try {
    const store = await openDB(DATABASE, undefined, {
      upgrade(_, __, ___, transaction) {
        transaction.done.catch(() => {});
        transaction.abort();
      },
    });
    if (store.objectStoreNames.contains(STORE)) return store;
    store.close();
    return null;
  } catch {
    return null;
  }
}

async function keep(database: Database, taken: Awaited<ReturnType<typeof fromEarlier>>): Promise<void> {
  const names = ['images', 'pieces', 'codes', 'shelf', 'cards', 'drawings', 'leftovers', 'page'] as const;
  const transaction = database.transaction(names, 'readwrite', DURABLE);
  const put = (name: (typeof names)[number], value: unknown, key?: string) =>
    transaction.objectStore(name).put(value, key as never);
  const { piece, slabPhoto } = taken;
  const asked: Promise<unknown>[] = [transaction.done];
  for (const image of taken.images) asked.push(put('images', image));
  for (const name of ['codes', 'shelf', 'cards', 'drawings', 'leftovers'] as const) {
    for (const value of taken[name]) asked.push(put(name, value));
  }
  if (piece) asked.push(put('pieces', piece), put('page', piece.id, 'last'));
  if (slabPhoto !== undefined) asked.push(put('page', slabPhoto, 'slab-photo'));
  asked.push(put('page', true, DONE));
  await Promise.all(asked);
}
