const KEY = 'foreburn-tab';

/** The piece that this tab shows, for when it is loaded anew. A browser that keeps nothing is no fault. */
export function rememberTab(id: string): void {
  try {
    sessionStorage.setItem(KEY, id);
  } catch {}
}

export function tabPiece(): string | null {
  try {
    return sessionStorage.getItem(KEY);
  } catch {
    return null;
  }
}
