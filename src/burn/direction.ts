import { burnDirection } from '../physics/material/appearance.ts';
import type { Piece } from '../piece/schema.ts';
import { createMemo } from './memo.ts';

const directions = createMemo<'lightens' | 'darkens'>(16);

/** Whether burning a piece lightens or darkens it; what asks again soon pays nothing for its spectra. */
export function directionOf({ stack, slab }: Piece): 'lightens' | 'darkens' {
  const coats = stack.coats.map(({ colorLab, scatteringPerMm, dryThicknessUm }) => [
    colorLab,
    scatteringPerMm,
    dryThicknessUm,
  ]);
  return directions(JSON.stringify([coats, slab.wood.colorLab]), () => burnDirection(stack, slab.wood));
}
