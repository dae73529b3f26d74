import type { Coat } from '../../piece/schema.ts';
import { levellingTimeS, unlevelledShare } from './levelling.ts';

/**
 * How a coat follows the relief it is laid on. Wet, it levels short waves (Orchard); as it dries it shrinks more where it is
 * deeper, so that the share 1 − VS of the relief is printed into its surface again (physics: each valley holds VS · depth more
 * dry film; value from memory). Layers repeat it; sanding takes most of the rest off.
 */

/** Wavelength of wood grain under paint, mm (estimate), and the time a sprayed film flows when nothing else is known. */
const GRAIN_MM = 0.9;
const OPEN_TIME_S = 60;
const VISCOSITY_PA_S = 1;
/** Surface tension of paint, N/m: 0.02–0.04, value from memory. */
export const PAINT_TENSION_N_PER_M = 0.03;
/** Share of the relief that rubbing down leaves (estimate). */
const AFTER_SANDING = 0.2;

/** Share of the ground's relief that the coat's dry surface still has, 0–1. */
export function telegraphedShare(coat: Coat): number {
  const solids = coat.volumeSolids / (1 + coat.thinnerShare);
  const wetUm = coat.dryThicknessUm / coat.layers / solids;
  if (!(wetUm > 0)) return 1;
  const { application } = coat;
  const timeS = levellingTimeS({
    viscosityPaS: application.kind === 'brushed' ? application.viscosityPaS : VISCOSITY_PA_S,
    wavelengthMm: GRAIN_MM,
    tensionNPerM: PAINT_TENSION_N_PER_M,
    wetUm,
  });
  const levelled = 1 - unlevelledShare(application.kind === 'brushed' ? application.openTimeS : OPEN_TIME_S, timeS);
  return (1 - levelled * solids) ** coat.layers * (coat.sandedAfter ? AFTER_SANDING : 1);
}

/** A film is never scraped or drained thinner than this over a peak, nor does it pool thicker, over its mean. */
const THINNEST = 0.15;
const THICKEST = 2.5;

/**
 * Lays a coat's row over a relief: adds to each film in µm what the relief makes of it and leaves in `reliefUm` the relief of the new
 * surface. Both in place.
 */
export function layOverRelief(filmUm: Float32Array, reliefUm: Float32Array, meanUm: number, share: number): void {
  const low = -(1 - THINNEST) * meanUm;
  const high = (THICKEST - 1) * meanUm;
  const gain = share - 1;
  for (let i = 0; i < filmUm.length; i++) {
    const wanted = gain * reliefUm[i];
    const added = Math.min(high, Math.max(low, wanted));
    const before = filmUm[i];
    const after = Math.max(0, before + added);
    filmUm[i] = after;
    reliefUm[i] += after - before;
  }
}
