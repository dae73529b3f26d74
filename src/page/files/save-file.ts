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

/** Ids that no other tab and no other visit to the page has given. */
export const freshId = (kind: string): string => `${kind}-${Math.random().toString(36).slice(2, 12)}`;
