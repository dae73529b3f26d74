const nameOf = (id: string): string => `foreburn-piece-${id}`;

/** Time that a page just left may take to let go of its piece. */
const PATIENCE_MS = 1000;

/**
 * Takes a piece for this tab, until it lets go or is closed. Where the browser has no Web Locks every tab gets it; then the storage
 * refuses the tab that was first (`database.ts`).
 * @returns what lets go of it; null if another tab has it.
 */
export async function holdPiece(id: string): Promise<(() => void) | null> {
  if (!navigator.locks) return () => {};
  const signal = AbortSignal.timeout(PATIENCE_MS);
  return new Promise((resolve) => {
    const hold = () => new Promise<void>((release) => resolve(release));
    navigator.locks.request(nameOf(id), { signal }, hold).catch(() => resolve(null));
  });
}

/** Ids of the pieces that are open in some tab, of those given. */
export async function heldPieces(ids: readonly string[]): Promise<ReadonlySet<string>> {
  const { held = [] } = (await navigator.locks?.query()) ?? {};
  const names = new Set(held.map(({ name }) => name));
  return new Set(ids.filter((id) => names.has(nameOf(id))));
}
