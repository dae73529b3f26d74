import { BARK_TILE_MM } from './bark-heights.ts';
import type { SlabShape } from './outline.ts';
import { BARK_MM } from './rings.ts';

/**
 * How the bark's tile lies on the rim. Along a slice's outline one goes round the trunk, along a plank's one follows it; the way
 * along the outline is stretched so that whole tiles close it. The same mapping is in shaders/rim.frag.
 */
export interface BarkPlace {
  /** mm of bark once round the outline. */
  readonly wayMm: number;
  readonly followsTrunk: boolean;
}

export function barkPlace(slab: SlabShape, outlineMm: number): BarkPlace {
  const followsTrunk = slab.cut === 'plank';
  const tileMm = followsTrunk ? BARK_TILE_MM.along : BARK_TILE_MM.round;
  return { wayMm: Math.max(1, Math.round(outlineMm / tileMm)) * tileMm, followsTrunk };
}

/** Way over the rim from the paint to a place `out` on it (0 paint, 1 widest, 2 foot), mm. */
export const overRimMm = (slab: SlabShape, out: number): number =>
  Math.min(1, out) * BARK_MM + Math.max(0, out - 1) * slab.thicknessMm;
