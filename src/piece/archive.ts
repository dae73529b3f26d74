import { strFromU8, Zip, ZipDeflate, ZipPassThrough } from 'fflate';
import { ARCHIVE_TIME } from '../base/aligned-zip.ts';
import { inMiB, LIMITS } from '../base/input-error.ts';
import { ZipError } from './file.ts';

/** A zip without the 64-bit extension ends here. */
export const MOST_ARCHIVE_BYTES = 0xffff_ffff;

export interface Archive {
  /** Begins a file, once the one before it has ended. */
  begin(name: string, how: 'packed' | 'as it is'): { write(bytes: Uint8Array): void; end(): void };
  end(): void;
}

/** Writes a zip file by file, so that no more of it is in memory than what is written just now. @throws Error if it becomes too large for a zip. */
export function createArchive(onBytes: (bytes: Uint8Array) => void): Archive {
  let written = 0;
  const zip = new Zip((error, chunk) => {
    if (error) throw error;
    written += chunk.length;
    if (written > MOST_ARCHIVE_BYTES) throw new Error('all of it is more than 4 GB, which one archive cannot hold');
    onBytes(chunk);
  });
  return {
    begin(name, how) {
      const file = how === 'packed' ? new ZipDeflate(name, { level: 6 }) : new ZipPassThrough(name);
      file.mtime = ARCHIVE_TIME;
      zip.add(file);
      return { write: (bytes) => file.push(bytes), end: () => file.push(new Uint8Array(0), true) };
    },
    end: () => zip.end(),
  };
}

export interface ArchiveEntry {
  readonly name: string;
  readonly bytes: () => Promise<Uint8Array>;
}

/** Bytes of a file from one place up to another. */
export type ReadBytes = (from: number, to: number) => Promise<Uint8Array>;

const END_LENGTH = 22;

const ENTRY_LENGTH = 46;

const LOCAL_LENGTH = 30;

const damaged = () => new ZipError('it is cut off or damaged, or another program has packed it');

/**
 * What lies in a zip whose files are stored as they are, each to be read when it is its turn: all of it may be larger than memory. Checksums are
 * left to the files in it. Source: PKWARE, .ZIP File Format Specification 6.3.10, 4.3.
 * @throws ZipError with the reason.
 */
export async function openArchive(read: ReadBytes, size: number): Promise<ArchiveEntry[]> {
  if (size < END_LENGTH) throw damaged();
  const end = viewOf(await read(size - END_LENGTH, size));
  if (end.getUint32(0, true) !== 0x06054b50) throw damaged();
  const count = end.getUint16(10, true);
  const length = end.getUint32(12, true);
  const start = end.getUint32(16, true);
  if (start + length + END_LENGTH !== size) throw damaged();
  if (count > LIMITS.zipEntries) throw new ZipError(`it holds more than ${LIMITS.zipEntries} files`);
  const list = await read(start, start + length);
  const view = viewOf(list);
  const entries: ArchiveEntry[] = [];
  let at = 0;
  for (let i = 0; i < count; i++) {
    if (at + ENTRY_LENGTH > length || view.getUint32(at, true) !== 0x02014b50) throw damaged();
    const nameEnd = at + ENTRY_LENGTH + view.getUint16(at + 28, true);
    const next = nameEnd + view.getUint16(at + 30, true) + view.getUint16(at + 32, true);
    if (next > length) throw damaged();
    const name = strFromU8(list.subarray(at + ENTRY_LENGTH, nameEnd));
    const stored = view.getUint16(at + 10, true) === 0;
    const bytes = view.getUint32(at + 24, true);
    const offset = view.getUint32(at + 42, true);
    entries.push({
      name,
      async bytes() {
        if (!stored) throw new ZipError('it is packed inside the archive: take it out first');
        if (bytes > LIMITS.pieceBytes) throw new ZipError(`it is larger than ${inMiB(LIMITS.pieceBytes)}`);
        if (offset + LOCAL_LENGTH > start) throw damaged();
        const local = viewOf(await read(offset, offset + LOCAL_LENGTH));
        const from = offset + LOCAL_LENGTH + local.getUint16(26, true) + local.getUint16(28, true);
        if (local.getUint32(0, true) !== 0x04034b50 || from + bytes > start) throw damaged();
        return read(from, from + bytes);
      },
    });
    at = next;
  }
  return entries;
}

const viewOf = (bytes: Uint8Array): DataView => new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
