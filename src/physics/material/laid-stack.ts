import type { Slab, Stack } from '../../piece/schema.ts';
import { addSmoothRow } from '../film/film.ts';
import { createFoundFilm } from '../film/found-film.ts';
import { coatRowUm, type RowPlace } from '../film/laid-film.ts';
import { layOverRelief, telegraphedShare } from '../film/telegraph.ts';
import { createFace, type Face } from '../raster/face.ts';
import { createGround } from '../wood/ground.ts';

/** One row of a slab as it lies ready for the burn; arrays of the row's length. */
export interface StackRow {
  /** Dry thickness per coat, topmost first, µm. */
  readonly filmUm: readonly Float32Array[];
  /** The bare face, see `wood/ground.ts`. */
  readonly reliefUm: Float32Array;
  readonly density: Float32Array;
  readonly shade: Float32Array;
}

/** Lays the coats of a stack on the wood of a slab. */
export interface StackLayer {
  row(place: RowPlace, out: StackRow): void;
}

/** Distance over which paint that crept under a tape comes and goes, mm (estimate). */
const SEEP_MM = 3;

/**
 * From the undercoat up each coat is laid as it was put on, thicker in the ground's valleys and thinner on its peaks; the topmost is
 * corrected by what was found; a taped rim stays bare but for what seeped under the tape.
 */
export function createStackLayer(slab: Slab, stack: Stack): StackLayer {
  const ground = createGround(slab);
  const face = createFace(slab);
  const shares = stack.coats.map(telegraphedShare);
  const correct = stack.film.found && stack.coats.length > 0 ? createFoundFilm(stack.film.found) : null;
  let surface = new Float32Array(0);
  return {
    row(place, out) {
      ground.row(place, out);
      if (surface.length !== out.reliefUm.length) surface = new Float32Array(out.reliefUm.length);
      surface.set(out.reliefUm);
      for (let i = stack.coats.length - 1; i >= 0; i--) {
        coatRowUm(stack.coats[i], i, stack.film, slab, place, out.filmUm[i], face);
        layOverRelief(out.filmUm[i], surface, stack.coats[i].dryThicknessUm, shares[i]);
      }
      correct?.(place, out.filmUm[0]);
      if (slab.maskedRimMm > 0) bareRim(slab, face, stack, place, out.filmUm);
    },
  };
}

function bareRim(slab: Slab, face: Face, stack: Stack, place: RowPlace, filmUm: readonly Float32Array[]): void {
  const { originXMm, yMm, pitchMm } = place;
  const length = filmUm[0]?.length ?? 0;
  const seep = new Float32Array(length);
  if (slab.seepMm > 0) {
    addSmoothRow(seep, (stack.film.seed ^ 0x5eeb) >>> 0, originXMm, yMm, pitchMm, SEEP_MM, 0.8);
    addSmoothRow(seep, (stack.film.seed ^ 0x5eec) >>> 0, originXMm, yMm, pitchMm, SEEP_MM / 4, 0.35);
  }
  for (let i = 0; i < length; i++) {
    const inMm = face.rimDistanceMm(originXMm + (i + 0.5) * pitchMm, yMm);
    const edgeMm = slab.maskedRimMm - slab.seepMm * Math.max(0, seep[i]);
    if (inMm < edgeMm) for (const film of filmUm) film[i] = 0;
  }
}
