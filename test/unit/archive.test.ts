import { unzipSync } from 'fflate';
import { expect, test } from 'vitest';
import { joinBytes } from '../../src/base/bytes.ts';
import { createArchive, openArchive } from '../../src/piece/archive.ts';

function archiveOf(files: Readonly<Record<string, Uint8Array>>, how: 'packed' | 'as it is'): Uint8Array {
  const parts: Uint8Array[] = [];
  const archive = createArchive((bytes) => parts.push(bytes));
  for (const [name, bytes] of Object.entries(files)) {
    const file = archive.begin(name, how);
    // Handed over in parts, as it comes from a disk.
    file.write(bytes.slice(0, 5));
    file.write(bytes.slice(5));
    file.end();
  }
  archive.end();
  return joinBytes(parts);
}

const files = {
  'quay.foreburn': new Uint8Array(3000).fill(7),
  'größe-2.foreburn': Uint8Array.from([1, 2, 3, 4, 5, 6]),
};
const readerOf = (zip: Uint8Array) => async (from: number, to: number) => zip.slice(from, to);

test('an archive written part by part is one to every reader, and read entry by entry to this one', async () => {
  for (const how of ['packed', 'as it is'] as const) expect(unzipSync(archiveOf(files, how))).toEqual(files);
  const zip = archiveOf(files, 'as it is');
  const entries = await openArchive(readerOf(zip), zip.length);
  const read = await Promise.all(entries.map(async ({ name, bytes }) => [name, await bytes()]));
  expect(Object.fromEntries(read)).toEqual(files);
});

test('what is cut off, no archive, or packed inside is refused with a sentence', async () => {
  const zip = archiveOf(files, 'as it is');
  for (const length of [0, 10, 400, zip.length - 1]) {
    await expect(openArchive(readerOf(zip), length)).rejects.toThrow(/cut off or damaged/);
  }
  const packed = archiveOf(files, 'packed');
  const [entry] = await openArchive(readerOf(packed), packed.length);
  await expect(entry.bytes()).rejects.toThrow(/packed inside the archive/);
});
