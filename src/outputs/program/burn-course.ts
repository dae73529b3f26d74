import { createPreparation, type Photo } from '../../burn/prepare.ts';
import { wattsAtLevel } from '../../physics/beam/source.ts';
import { type PassCourse, passCourse } from '../../physics/raster/burn-clock.ts';
import type { ScreenedPass } from '../../physics/raster/pass-raster.ts';
import type { Piece } from '../../piece/schema.ts';

/** All passes of a piece as they are travelled. @throws Cancelled if told to stop. */
export function burnCourse(
  piece: Piece,
  photo: Photo,
  shouldStop: () => boolean = () => false,
): { readonly courses: readonly PassCourse[]; readonly screened: readonly ScreenedPass[] } {
  const preparation = createPreparation(shouldStop);
  const { source, motion } = piece.machine;
  const screened = piece.passes.map((pass) => {
    return preparation.screen(photo, piece, pass, (level) => wattsAtLevel(source, pass, level) > 0);
  });
  const courses = screened.map(({ spans, raster }, i) => passCourse(spans, raster, piece.passes[i], motion));
  return { courses, screened };
}
