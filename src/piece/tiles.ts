import type { BurnPlaces, Tiles } from './schema.ts';

/** Packs bytes (row-major, `columns · rows` of them) for a piece file. */
export function packTiles(columns: number, rows: number, values: Uint8Array): Tiles {
  let text = '';
  for (const value of values) text += String.fromCharCode(value);
  return { columns, rows, bytes: btoa(text) };
}

/** Places of a pass whose squares lie over the picture itself. */
export const packPlaces = (columns: number, rows: number, values: Uint8Array): BurnPlaces => ({
  ...packTiles(columns, rows, values),
  across: 1,
  down: 1,
});

/** The bytes of tiles, row-major. */
export const unpackTiles = ({ bytes }: Tiles): Uint8Array => Uint8Array.from(atob(bytes), (char) => char.charCodeAt(0));
