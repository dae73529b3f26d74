import type { Knot, Slab } from '../../piece/schema.ts';

/** A knot seen from one place. */
export interface KnotShadow {
  /** 0 outside, 1 inside, over a thin edge. */
  readonly inside: number;
  /** Distance from its middle over its radius. */
  readonly reach: number;
}

/** A knot with what is needed at every place worked out once. */
export interface PlacedKnot {
  readonly xMm: number;
  readonly yMm: number;
  readonly radiusMm: number;
  /** Direction in which its lean draws it out, and by how much. */
  readonly cosine: number;
  readonly sine: number;
  readonly stretch: number;
}

/** Along the grain of a plank, outwards from the pith in a slice. */
export function placeKnot(knot: Knot, slab: Slab): PlacedKnot {
  const outwards = Math.atan2(knot.yMm - slab.pithYMm, knot.xMm - slab.pithXMm);
  const heading = slab.cut === 'plank' ? 0 : outwards;
  return {
    xMm: knot.xMm,
    yMm: knot.yMm,
    radiusMm: knot.diameterMm / 2,
    cosine: Math.cos(heading),
    sine: Math.sin(heading),
    stretch: 1 / Math.cos(knot.tiltRad),
  };
}

/** Distance from a knot's middle over its radius, its outline bent a little so that it is no ellipse. */
export function knotReach(knot: PlacedKnot, xMm: number, yMm: number, bend: number): number {
  const dx = xMm - knot.xMm;
  const dy = yMm - knot.yMm;
  const along = (dx * knot.cosine + dy * knot.sine) / knot.stretch;
  const across = -dx * knot.sine + dy * knot.cosine;
  return Math.sqrt(along * along + across * across) / (knot.radiusMm * (1 + 0.08 * bend));
}

/**
 * How far rings are pushed aside round a knot, along the direction in which they follow one another (n): they run round it as
 * streamlines run round a cylinder, ψ = n·(1 − R²/ρ²), and forget it a few radii away.
 */
export function ringShift(reach: number, fromMiddleMm: number): number {
  if (reach <= 1) return -fromMiddleMm;
  const fade = Math.exp(-0.18 * (reach - 1) ** 2);
  return (-fromMiddleMm * fade) / (reach * reach);
}
