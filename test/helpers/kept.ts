import type { Page } from 'playwright-core';
import type { Piece } from '../../src/piece/schema.ts';

/** All that the page keeps in its browser, by store; bytes as their lengths. Does not make a database that is not there. */
export const keptStores = (page: Page): Promise<Record<string, { key: unknown; value: unknown }[]>> =>
  page.evaluate(async () => {
    const done = <Result>(request: IDBRequest<Result>) =>
      new Promise<Result>((resolve, reject) => {
        request.onsuccess = () => resolve(request.result);
        request.onerror = () => reject(request.error);
      });
    if (!(await indexedDB.databases()).some(({ name }) => name === 'foreburn')) return {};
    const database = await done(indexedDB.open('foreburn'));
    const stores: Record<string, { key: unknown; value: unknown }[]> = {};
    for (const name of database.objectStoreNames) {
      const store = database.transaction(name).objectStore(name);
      const [keys, values] = await Promise.all([done(store.getAllKeys()), done(store.getAll())]);
      stores[name] = keys.map((key, i) => {
        const { bytes } = (values[i] ?? {}) as { bytes?: Uint8Array };
        return { key, value: bytes ? { ...values[i], bytes: bytes.length } : values[i] };
      });
    }
    database.close();
    return stores;
  });

export interface KeptRecord {
  readonly id: string;
  readonly title: string;
  readonly changedAt: number;
  readonly piece: string;
  readonly photo: { readonly key: string; readonly name: string } | null;
  readonly images: readonly string[];
  readonly past: readonly number[];
  readonly pins: readonly unknown[];
}

/** Records of the kept pieces, the one that was changed last first. */
export async function keptRecords(page: Page): Promise<KeptRecord[]> {
  const { pieces = [] } = await keptStores(page);
  return pieces.map(({ value }) => value as KeptRecord).sort((a, b) => b.changedAt - a.changedAt);
}

/** The piece that was changed last, as it is kept; null while there is none. */
export async function keptPiece(page: Page): Promise<Piece | null> {
  const [record] = await keptRecords(page);
  return record ? (JSON.parse(record.piece) as Piece) : null;
}

/** Changes fields of every value of a store, behind the page's back; null empties the store. The page must not have it open. */
export const editStore = (page: Page, name: string, fields: object | null): Promise<void> =>
  page.evaluate(
    async ({ name: store, fields: change }) => {
      const done = <Result>(request: IDBRequest<Result>) =>
        new Promise<Result>((resolve, reject) => {
          request.onsuccess = () => resolve(request.result);
          request.onerror = () => reject(request.error);
        });
      const database = await done(indexedDB.open('foreburn'));
      const values = database.transaction(store, 'readwrite').objectStore(store);
      if (change === null) await done(values.clear());
      else for (const value of await done(values.getAll())) await done(values.put({ ...value, ...change }));
      database.close();
    },
    { name, fields },
  );
