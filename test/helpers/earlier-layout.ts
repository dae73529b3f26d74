import type { Page } from 'playwright-core';

/** What a page before the database kept in the browser: text under one key, all else under keys of a store of its own. */
export interface EarlierLayout {
  readonly work: string | null;
  /** Bytes as lists of numbers become bytes, wherever they stand. */
  readonly entries: Readonly<Record<string, unknown>>;
}

export const bytesOf = (bytes: Uint8Array): { readonly bytesOf: number[] } => ({ bytesOf: [...bytes] });

/** Puts it there, on a page of the same origin. */
export const buildEarlierLayout = (page: Page, layout: EarlierLayout): Promise<void> =>
  page.evaluate(async ({ work, entries }) => {
    const unpack = (value: unknown): unknown => {
      if (typeof value !== 'object' || value === null) return value;
      if (Array.isArray(value)) return value.map(unpack);
      if ('bytesOf' in value) return new Uint8Array(value.bytesOf as number[]);
      return Object.fromEntries(Object.entries(value).map(([key, part]) => [key, unpack(part)]));
    };
    if (work !== null) localStorage.setItem('foreburn-piece', work);
    await new Promise<void>((resolve, reject) => {
      const opening = indexedDB.open('keyval-store');
      opening.onupgradeneeded = () => opening.result.createObjectStore('keyval');
      opening.onerror = () => reject(opening.error);
      opening.onsuccess = () => {
        const transaction = opening.result.transaction('keyval', 'readwrite');
        for (const [key, value] of Object.entries(entries)) transaction.objectStore('keyval').put(unpack(value), key);
        transaction.oncomplete = () => {
          opening.result.close();
          resolve();
        };
        transaction.onerror = () => reject(transaction.error);
      };
    });
  }, layout);

/** What is left of it. */
export const earlierKeys = (page: Page): Promise<string[]> =>
  page.evaluate(
    () =>
      new Promise<string[]>((resolve) => {
        const left = localStorage.getItem('foreburn-piece') === null ? [] : ['foreburn-piece'];
        const opening = indexedDB.open('keyval-store');
        opening.onupgradeneeded = () => opening.result.createObjectStore('keyval');
        opening.onsuccess = () => {
          const asked = opening.result.transaction('keyval').objectStore('keyval').getAllKeys();
          asked.onsuccess = () => {
            opening.result.close();
            resolve([...left, ...asked.result.map(String)]);
          };
        };
      }),
  );
