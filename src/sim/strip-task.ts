import type { AppearanceTable } from '../core/material/appearance.ts';
import type { Slab, Stack } from '../core/piece/schema.ts';
import type { RowOptics } from '../core/raster/exposure.ts';
import type { BackendName, Plane, RasterPlace } from '../kernels/contract.ts';

/** What all strips of one burn share; sent to each worker once. */
export interface StripJob {
  readonly id: number;
  readonly stack: Stack;
  readonly slab: Slab;
  readonly appearance: AppearanceTable;
  readonly width: number;
  readonly pitchMm: number;
  /** Fine cells per cell along x and along y. */
  readonly subX: number;
  readonly subY: number;
  /** Slab place of the far left corner of cell (0, 0), from the slab's centre, mm. */
  readonly originXMm: number;
  readonly originYMm: number;
  /** The same for jobs whose coats have the same film at the same places. */
  readonly filmKey: string;
  /** Fixed shares of each coat's mean thickness per band of rows instead of the film's own variation (test patches). */
  readonly filmSteps: readonly { readonly rows: number; readonly share: number }[] | null;
  readonly passes: readonly StripPassJob[];
  readonly collect: StripCollect;
}

export interface StripCollect {
  readonly surface: boolean;
  readonly fields: boolean;
}

export interface StripPassJob {
  /** Watts that come out at each of the 256 levels between dark end and light end. */
  readonly wattsAt: Float64Array;
  readonly optics: RowOptics;
  readonly weights: Plane;
  readonly layers: Plane;
}

/** A window of a pass's raster: what of it reaches the strip, with the rows' halo. Outside the raster the mask is 0. */
export interface StripWindow {
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
}

export interface StripTask {
  readonly jobId: number;
  readonly y0: number;
  readonly rows: number;
  readonly windows: readonly StripWindow[];
  /** Per cell: 1 in the picture, 2 also meant to open (a light part whose dot burns at the light end). */
  readonly aim: Uint8Array;
}

export interface StripStats {
  readonly pictureCells: number;
  readonly lightCells: number;
  readonly unclearedCells: number;
  readonly scorchedCells: number;
  readonly residueSumUm: number;
  readonly maxDepthUm: number;
  /** Residue of the topmost coat in the light areas, `HISTOGRAM_BINS` bins of `HISTOGRAM_BIN_UM`, the last one open. */
  readonly histogram: Uint32Array;
}

export interface StripFields {
  readonly residueUm: readonly Float32Array[];
  readonly woodDepthUm: Float32Array;
  readonly excess: Float32Array;
}

export interface StripResult {
  readonly y0: number;
  readonly rows: number;
  readonly backend: BackendName;
  readonly stats: StripStats;
  /** RGBA8: sRGB colour, alpha 255 where uncleared. */
  readonly color: Uint8Array | null;
  /** Half floats, two a cell: height over the intact nominal surface in µm, scorch 0–1. */
  readonly relief: Uint16Array | null;
  readonly fields: StripFields | null;
}

export const HISTOGRAM_BINS = 60;
export const HISTOGRAM_BIN_UM = 0.5;
