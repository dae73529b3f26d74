import type { Slab } from './schema.ts';

/** Share of the slab that a freshly placed picture takes, so that a rim of the coat stays around it. */
const FRESH_SHARE = 0.92;

/** Largest width in mm at which a picture of a given height over width stays inside the slab with a rim around it. */
export function fittingWidthMm(slab: Slab, heightOverWidth: number): number {
  return FRESH_SHARE * Math.min(slab.widthMm, slab.heightMm / heightOverWidth);
}
