/** Who made a piece, as papers and the client's page say it. */
export interface Maker {
  readonly name: string;
  /** The maker's own mark, a small PNG as a data address; null without. */
  readonly mark: string | null;
}

/** A mark is kept no larger than this, pixels: sharp at its size on paper. */
export const MARK_PX = { width: 480, height: 240 } as const;

/** Its size on paper at most, mm. */
export const MARK_MM = { width: 40, height: 12 } as const;

/** Characters that a mark of `MARK_PX` can have at most. */
const MOST_SIGNS = 800_000;

/** Whether something that was kept is a mark, so that nothing else gets onto a paper. */
export const isMark = (kept: unknown): kept is string =>
  typeof kept === 'string' && kept.length <= MOST_SIGNS && /^data:image\/png;base64,[A-Za-z0-9+/]+={0,2}$/.test(kept);
