/** Hands bytes to the browser as a download. */
export function saveFile(name: string, bytes: Uint8Array | Blob, type: string): void {
  const blob = bytes instanceof Blob ? bytes : new Blob([bytes as BlobPart], { type });
  const url = URL.createObjectURL(blob);
  const link = document.createElement('a');
  link.href = url;
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(url), 10_000);
}

declare global {
  interface Window {
    /** File System Access API; not in every browser. */
    showSaveFilePicker?(options: { suggestedName: string }): Promise<FileSystemFileHandle>;
  }
}

/** Undefined where the browser cannot ask; null where the maker does not answer. */
export async function askWhere(suggestedName: string): Promise<FileSystemFileHandle | undefined | null> {
  if (!window.showSaveFilePicker) return undefined;
  try {
    return await window.showSaveFilePicker({ suggestedName });
  } catch (error) {
    if ((error as Error).name === 'AbortError') return null;
    // Some frames and profiles may not ask; a download always goes.
    return undefined;
  }
}

/** Ids that no other tab and no other visit to the page has given. */
export const freshId = (kind: string): string => `${kind}-${Math.random().toString(36).slice(2, 12)}`;
