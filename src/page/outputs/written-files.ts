import { create } from 'zustand';

export interface WrittenFile {
  readonly name: string;
  /** SHA-256, hexadecimal. */
  readonly sha256: string;
}

/** Machine files that were saved since something was last entered in the log. */
export const useWrittenFiles = create<{ readonly files: readonly WrittenFile[] }>()(() => ({ files: [] }));

const MOST_FILES = 24;

/** Remembers a file for the log; one of the same name takes the place of the older. */
export function noteWritten(file: WrittenFile): void {
  useWrittenFiles.setState(({ files }) => ({
    files: [...files.filter(({ name }) => name !== file.name), file].slice(-MOST_FILES),
  }));
}
