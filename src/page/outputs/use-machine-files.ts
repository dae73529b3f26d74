import { useState } from 'react';
import { create } from 'zustand';
import { fileName } from '../../base/file-name.ts';
import type { AskOptions } from '../../base/remote/remote.ts';
import { type MachineFile, machineFileEnding, machineFileType } from '../../outputs/program/machine-file.ts';
import type { JobRefusal } from '../../outputs/program/refusals.ts';
import type { Piece } from '../../piece/schema.ts';
import { ask } from '../burn/proof-remote.ts';
import { removeEmpty } from '../burn/worker/file-sink.ts';
import { inBackground } from '../faults/lazy-part.tsx';
import { askWhere, saveFile } from '../files/save-file.ts';
import { type Task, useTask } from '../remote/task.ts';
import { usePieceStore } from '../store/piece-store.ts';

/** What became of a file that was asked for. */
type Outcome =
  | { readonly saved: SavedMachineFile }
  /** Holds for the piece as it was. */
  | { readonly refusals: readonly JobRefusal[]; readonly piece: Piece };

/** Files for the machine are made one at a time. Files go by `fileKey`. */
export interface MachineFiles {
  readonly task: Task;
  /** The file that the task is about. */
  readonly asked: string | null;
  readonly outcomes: Readonly<Record<string, Outcome>>;
  readonly make: (file: MachineFile) => void;
}

export const fileKey = (file: MachineFile): string => JSON.stringify(file);

export function useMachineFiles(): MachineFiles {
  const task = useTask();
  const [asked, setAsked] = useState<string | null>(null);
  const [outcomes, setOutcomes] = useState<MachineFiles['outcomes']>({});
  const make = async (file: MachineFile) => {
    const { piece, photo } = usePieceStore.getState();
    if (!photo) return;
    const key = fileKey(file);
    setAsked(key);
    setOutcomes(({ [key]: _, ...others }) => others);
    const made = await task.run('where to?', ({ signal, onProgress, goOn }) =>
      saveMachineFile(file, piece, photo.key, {
        signal,
        onProgress: (share, stage) => {
          onProgress(share);
          if (stage) goOn(`${stage}…`);
        },
      }),
    );
    if (!made) return;
    const outcome = 'refusals' in made ? { refusals: made.refusals, piece } : { saved: made };
    setOutcomes((others) => ({ ...others, [key]: outcome }));
  };
  return { task, asked, outcomes, make: (file) => inBackground(make(file)) };
}

interface SavedMachineFile {
  readonly name: string;
  readonly bytes: number;
  readonly sha256: string;
  readonly timeS: number | null;
  readonly cautions: readonly string[];
}

type SaveOutcome = SavedMachineFile | { readonly refusals: readonly JobRefusal[] };

/**
 * Makes a file for the machine and hands it to the maker. Programs of passes are large: where the browser can, they are streamed to
 * where the maker says, and take their name once they are whole. Null if the maker does not say where.
 * @throws Error with a message for people; Cancelled.
 */
async function saveMachineFile(
  file: MachineFile,
  piece: Piece,
  photoKey: string,
  options: AskOptions,
): Promise<SaveOutcome | null> {
  const suggestedName = `${fileName(piece.name)}-${machineFileEnding(file)}`;
  const handle = file.kind === 'pass' ? await askWhere(suggestedName) : undefined;
  if (handle === null) return null;
  const made = await ask('machine-file', { piece, photoKey, file, handle: handle ?? null }, options).catch(
    async (error: unknown) => {
      // Stopped before the worker had begun, nobody else does.
      if (handle) await removeEmpty(handle);
      throw error;
    },
  );
  if ('refusals' in made) return made;
  const { blob, ...told } = made;
  if (blob) saveFile(suggestedName, blob, machineFileType(file));
  const name = handle?.name ?? suggestedName;
  // What burns goes into the log.
  if (file.kind === 'pass' || file.kind === 'mark') noteWritten({ name, sha256: told.sha256 });
  return { ...told, name };
}

interface WrittenFile {
  readonly name: string;
  /** SHA-256, hexadecimal. */
  readonly sha256: string;
}

/** Machine files that were saved since something was last entered in the log. */
export const useWrittenFilesStore = create<{ readonly files: readonly WrittenFile[] }>()(() => ({ files: [] }));

const MOST_FILES = 24;

/** Remembers a file for the log; one of the same name takes the place of the older. */
function noteWritten(file: WrittenFile): void {
  useWrittenFilesStore.setState(({ files }) => ({
    files: [...files.filter(({ name }) => name !== file.name), file].slice(-MOST_FILES),
  }));
}
