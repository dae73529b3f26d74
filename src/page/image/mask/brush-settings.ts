import type { BrushStroke } from '../../../piece/schema.ts';

/** The brush in the maker's terms: lengths on the slab. */
export interface Brush {
  readonly does: BrushStroke['does'];
  /** Across. */
  readonly sizeMm: number;
  /** Width of the rim over which it fades out. */
  readonly softMm: number;
}

export type BrushShape = Pick<BrushStroke, 'does' | 'radius' | 'hardness'>;

export const firstBrush = (widthMm: number): Brush => ({
  does: 'erase',
  sizeMm: Math.max(0.5, Math.round(widthMm / 16)),
  softMm: Math.round(widthMm / 20) / 10,
});

/** A brush in shares of a picture's width, inside the piece's limits. A rim wider than the brush fades from its middle. */
export function brushOf({ does, sizeMm, softMm }: Brush, widthMm: number): BrushShape {
  const radiusMm = sizeMm / 2;
  return {
    does,
    radius: Math.min(1, Math.max(0.0005, radiusMm / widthMm)),
    hardness: Math.min(1, Math.max(0, 1 - softMm / radiusMm)),
  };
}
