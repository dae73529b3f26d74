import { create } from 'zustand';
import type { Point } from '../../../base/geometry/point.ts';

/** A photograph of the burned piece that is being laid over the proof; never saved. */
interface BurnedPhotoState {
  readonly open: boolean;
  readonly bitmap: ImageBitmap | null;
  /** RGBA8, sRGB, of the same size. */
  readonly rgba: Uint8ClampedArray | null;
  /** Where the corners of the box round the slab lie, pixels: left top, then clockwise. */
  readonly corners: readonly Point[];
  /** What is being done, for the maker. */
  readonly busy: string | null;
  readonly share: number;
  readonly fault: string | null;
  /** Whether the corners lie where the slab was found, and are not moved since. */
  readonly found: boolean;
  /** A photograph that no model comes near to, and the nearest model: L* per tile. */
  readonly misfit: { readonly columns: number; readonly seenL: Float32Array; readonly modelL: Float32Array } | null;
  /** What the last photograph told, for the maker. */
  readonly told: string | null;
}

export const useBurnedPhoto = create<BurnedPhotoState>()(() => ({
  open: false,
  bitmap: null,
  rgba: null,
  corners: [],
  busy: null,
  share: 0,
  fault: null,
  found: false,
  misfit: null,
  told: null,
}));
export const setBurnedPhoto = useBurnedPhoto.setState;
