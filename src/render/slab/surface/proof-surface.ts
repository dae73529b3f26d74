/**
 * What the proof hands to the view: the burned surface, cell by cell, in strips.
 *
 * Rows run from the picture's top to its bottom, cells from left to right. The view keeps the strips by reference (it needs
 * them again after a lost graphics context) and never writes to them; whoever makes them must not write to them either once
 * they are in a surface.
 */
export interface ProofStrip {
  /** First row of the strip. */
  readonly y0: number;
  /** Number of rows. */
  readonly rows: number;
  /**
   * RGBA8, `rows * width * 4` long. rgb is the sRGB-encoded colour as an instrument that includes the mirror reflection would
   * read it; a is the share of the cell that is uncleared, 0…255.
   */
  readonly color: Uint8Array;
  /**
   * Half floats, two per cell, `rows * width * 2` long: surface height in µm relative to the intact surface's nominal height
   * (negative = burned down; film ripple included), then scorch 0…1.
   */
  readonly relief: Uint16Array;
}

/**
 * A proof as the view draws it. A surface grows: the maker appends strips (in any order of rows) and raises `version`, and sets
 * `complete` with the last one. A surface with other contents needs another `id` or other strips; nothing is drawn before a
 * surface is complete and wholly on the graphics card.
 */
export interface ProofSurface {
  /** The same for every version of one proof; surfaces of other sizes may share it (a coarse one that comes first). */
  readonly id: string;
  /** Cells per row, up to 8192. */
  readonly width: number;
  /** Rows. */
  readonly height: number;
  /** Size of a cell; cells are square. */
  readonly pitchMm: number;
  readonly strips: readonly ProofStrip[];
  /** Whether all strips are there. */
  readonly complete: boolean;
  /** Raised whenever strips were added. */
  readonly version: number;
}
