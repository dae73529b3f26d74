import { areaMm2 } from '../../base/geometry/polygon.ts';
import { slabPerimeter } from '../../physics/bed/perimeter.ts';
import { wetForDryUm } from '../../physics/film/paint-build.ts';
import type { Coat, Slab } from '../../piece/schema.ts';

/** Wet thickness of one layer in µm, and paint for the whole coat in mL. */
export interface PaintNeeded {
  readonly wetLayerUm: number;
  readonly paintMl: number;
}

/**
 * Paint for a coat on the slab's whole face, thinner not counted: `A · DFT / VS` (ISO 3233), over the share that ends up on the slab.
 * @param loss share of the paint that does not, 0–1.
 */
export function paintNeeded(coat: Coat, slab: Slab, loss: number): PaintNeeded {
  const solids = Math.max(0.01, coat.volumeSolids);
  const paintUm = wetForDryUm(coat.dryThicknessUm, solids, 0);
  return {
    wetLayerUm: wetForDryUm(coat.dryThicknessUm / coat.layers, solids, coat.thinnerShare),
    paintMl: (Math.abs(areaMm2(slabPerimeter(slab))) * paintUm) / 1e6 / (1 - loss),
  };
}
