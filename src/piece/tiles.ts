import type { Tiles } from './schema.ts';

/** Packs bytes (row-major, `columns · rows` of them) for a piece file. */
export function packTiles(columns: number, rows: number, values: Uint8Array): Tiles {
  let text = '';
  for (const value of values) text += String.fromCharCode(value);
  return { columns, rows, bytes: btoa(text) };
}

/** The bytes of tiles, row-major. */
export const unpackTiles = ({ bytes }: Tiles): Uint8Array => Uint8Array.from(atob(bytes), (char) => char.charCodeAt(0));
