import type { WarmthMap, WarmthSteps } from '../physics/heat/warmth.ts';
import type { AppearanceTable } from '../physics/material/appearance.ts';
import type { RowOptics } from '../physics/raster/exposure.ts';
import type { Slab, Stack } from '../piece/schema.ts';
import type { Plane, RasterPlace } from './kernel/contract.ts';

/** What all swaths of one burn share; sent to each worker once. */
export interface SwathJob {
  readonly id: number;
  readonly stack: Stack;
  readonly slab: Slab;
  readonly appearance: AppearanceTable;
  readonly width: number;
  readonly pitchMm: number;
  /** Fine cells per cell along x and along y. */
  readonly subX: number;
  readonly subY: number;
  /** How fine cells are staggered along x, see `burn.kernel.ts`. */
  readonly stride: number;
  /** Slab place of the far left corner of cell (0, 0), from the slab's centre, mm. */
  readonly originXMm: number;
  readonly originYMm: number;
  /** The same for jobs whose wood and films are the same at the same places; empty: not worth keeping. */
  readonly filmKey: string;
  /** Fixed shares of each coat's mean thickness instead of the film's own variation (test patches). */
  readonly filmSteps: FilmSteps | null;
  /** The cells are squares from here and there of the slab. */
  readonly squares?: Squares;
  readonly airFlow: number;
  readonly passes: readonly SwathPass[];
  readonly collect: SwathCollect;
}

/** Where squares side by side come from: middles from the slab's centre, mm; cells that each is wide in the swath and in the windows. */
export interface Squares {
  readonly cells: number;
  readonly windowCells: number;
  readonly xMm: ArrayLike<number>;
  readonly yMm: ArrayLike<number>;
}

/** Bands of equal width, down the rows or along them. */
export interface FilmSteps {
  readonly along: 'x' | 'y';
  readonly cells: number;
  readonly shares: readonly number[];
}

export interface SwathCollect {
  readonly surface: boolean;
  readonly fields: boolean;
  /** The surface's alpha tells where there is paint instead of what is uncleared. */
  readonly painted: boolean;
}

/** Spots from the lowest to the highest place of a face; a single one where it is flat. */
export interface FocusSteps {
  /** Heights over the slab's middle, mm, of the first and the last. */
  readonly lowMm: number;
  readonly highMm: number;
  readonly alongRadiiMm: Float64Array;
  readonly acrossRadiiMm: Float64Array;
}

export interface SwathPass {
  /** Watts that come out at each of the 256 levels between dark end and light end. */
  readonly wattsAt: Float64Array;
  readonly optics: RowOptics;
  /** Values a dot of the exposure along the rows, evenly spread over it. */
  readonly perDot: number;
  /** Parts of a row pitch; `weights` has a block of so many rows per step of focus. */
  readonly phases: number;
  readonly weights: Plane;
  readonly layers: Plane;
  readonly focus: FocusSteps;
  /** Factor on thresholds by step of focus: a wider spot dwells longer. */
  readonly coldFactors: Float64Array;
  /** Null: every row starts cold. A number: equally warm everywhere. */
  readonly warmth: WarmthMap | WarmthSteps | number | null;
}

/** A window of a pass's raster: what of it reaches the swath, with the rows' halo. Outside the raster the mask is 0. */
export interface SwathWindow {
  readonly columns: number;
  readonly rows: number;
  /** Raster column of the window's first. */
  readonly columnStart: number;
  readonly levels: Uint8Array;
  readonly mask: Uint8Array;
  readonly spanFirst: Int32Array;
  readonly spanEnd: Int32Array;
  readonly backwards: Uint8Array;
  readonly place: RasterPlace;
  /** Raster row of the window's first. */
  readonly rowStart: number;
}

/** Even patches in a raster, `across` by `down` of them: `dots` a side are burned, `margin` dots round each only screened. */
export interface PatchGrid {
  readonly dots: number;
  readonly margin: number;
  readonly across: number;
  readonly down: number;
}

export interface SwathTask {
  readonly jobId: number;
  readonly y0: number;
  readonly rows: number;
  readonly windows: readonly SwathWindow[];
  /** Per cell: 1 in the picture, 2 also meant to open (a light part whose dot burns at the light end). */
  readonly aim: Uint8Array;
  /** The swath's cells are the middles of patches in the windows, see `rasterCell`. */
  readonly patches?: PatchGrid;
}

export interface SwathStats {
  /** Values that are no finite numbers, in what the burn was given or what it gave. */
  readonly unsound: number;
  readonly pictureCells: number;
  readonly lightCells: number;
  readonly unclearedCells: number;
  readonly scorchedCells: number;
  readonly residueSumUm: number;
  readonly maxDepthUm: number;
  /** Residue of the topmost coat in the light areas, `HISTOGRAM_BINS` bins of `HISTOGRAM_BIN_UM`, the last one open. */
  readonly histogram: Uint32Array;
}

export interface SwathFields {
  readonly residueUm: readonly Float32Array[];
  readonly woodDepthUm: Float32Array;
  readonly excess: Float32Array;
}

export interface SwathResult {
  readonly y0: number;
  readonly rows: number;
  /** What burned it: the processor, or a card that burns whole pictures. */
  readonly backend: 'cpu' | 'card';
  readonly stats: SwathStats;
  /** RGBA8: sRGB colour, alpha 255 where uncleared. */
  readonly color: Uint8Array | null;
  /** Half floats, two a cell: height over the intact nominal surface in µm, scorch 0–1. */
  readonly relief: Uint16Array | null;
  /** Of the surface too: 255 where the wood is burned. */
  readonly through: Uint8Array | null;
  readonly fields: SwathFields | null;
}

export const HISTOGRAM_BINS = 60;
export const HISTOGRAM_BIN_UM = 0.5;
