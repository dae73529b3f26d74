import { crc32 } from './aligned-zip.ts';

/** JSON whose names stand in order: a piece made here and the same one read from a file have theirs in different ones. */
export const orderedJson = (value: unknown): string =>
  JSON.stringify(value, (_, part: unknown) =>
    typeof part === 'object' && part !== null && !Array.isArray(part)
      ? Object.fromEntries(Object.entries(part).sort(([a], [b]) => (a < b ? -1 : 1)))
      : part,
  );

/** Stands for a value: what is alike has the same, whatever order its names are in. */
export const sumOf = (value: unknown): string => crc32(new TextEncoder().encode(orderedJson(value))).toString(16);
