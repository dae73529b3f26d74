import type { AskOptions } from '../../base/remote/remote.ts';
import { type MachineFile, machineFileEnding, machineFileType } from '../../outputs/program/machine-file.ts';
import type { JobRefusal } from '../../outputs/program/mend.ts';
import type { Piece } from '../../piece/schema.ts';
import { ask } from '../burn/proof-client.ts';
import { removeEmpty } from '../burn/worker/file-sink.ts';
import { fileName } from '../files/file-name.ts';
import { saveFile } from '../files/save-file.ts';
import { noteWritten } from './written-files.ts';

declare global {
  interface Window {
    /** File System Access API; not in every browser. */
    showSaveFilePicker?(options: { suggestedName: string }): Promise<FileSystemFileHandle>;
  }
}

export interface SavedMachineFile {
  readonly name: string;
  readonly bytes: number;
  readonly sha256: string;
  readonly timeS: number | null;
  readonly cautions: readonly string[];
}

export type SaveOutcome = SavedMachineFile | { readonly refusals: readonly JobRefusal[] };

/**
 * Makes a file for the machine and hands it to the maker. Programs of passes are large: where the browser can, they are streamed to
 * where the maker says, and take their name once they are whole. Null if the maker does not say where.
 * @throws Error with a message for people; Cancelled.
 */
export async function saveMachineFile(
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

/** Undefined where the browser cannot ask; null where the maker does not answer. */
async function askWhere(suggestedName: string): Promise<FileSystemFileHandle | undefined | null> {
  if (!window.showSaveFilePicker) return undefined;
  try {
    return await window.showSaveFilePicker({ suggestedName });
  } catch (error) {
    if ((error as Error).name === 'AbortError') return null;
    // Some frames and profiles may not ask; a download always goes.
    return undefined;
  }
}
