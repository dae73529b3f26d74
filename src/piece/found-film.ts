import * as z from '../base/zod.ts';
import { number, tilesSchema } from './fields.ts';

/**
 * How much thicker than expected the topmost coat was found to lie, from a photograph of the burned piece: squares of `pitchMm` from
 * the left top corner at (xMm, yMm) from the slab's centre, y growing downwards. Bytes over 128 are the factor on the thickness; beyond
 * the squares it is 1.
 */
export const foundFilmSchema = z.strictObject({
  xMm: number(-3000, 3000),
  yMm: number(-3000, 3000),
  pitchMm: number(0.1, 100),
  tiles: tilesSchema,
});
export type FoundFilm = z.infer<typeof foundFilmSchema>;
