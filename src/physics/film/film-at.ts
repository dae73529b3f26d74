import type { Slab, Stack } from '../../piece/schema.ts';
import { createFace } from '../raster/face.ts';
import { createFoundFilm } from './found-film.ts';
import { coatRowUm } from './laid-film.ts';

/** Length of the row that is laid to ask for a single place, mm. */
const CELL_MM = 0.05;

/**
 * Thickness of the topmost coat over its mean at single places of the slab, mm from its centre, y towards the maker: how it was laid and
 * what was found of it, without what the grain prints through. 1 everywhere on bare wood.
 */
export function createFilmAt(slab: Slab, stack: Stack): (xMm: number, yMm: number) => number {
  const [top] = stack.coats;
  if (!top || top.dryThicknessUm <= 0) return () => 1;
  const face = createFace(slab);
  const correct = stack.film.found ? createFoundFilm(stack.film.found) : null;
  const row = new Float32Array(1);
  return (xMm, yMm) => {
    const place = { originXMm: xMm - CELL_MM / 2, yMm, pitchMm: CELL_MM };
    coatRowUm(top, 0, stack.film, slab, place, row, face);
    correct?.(place, row);
    return row[0] / top.dryThicknessUm;
  };
}
