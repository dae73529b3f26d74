import type { Wood } from '../../piece/schema.ts';
import { KNOT_LIGHTNESS } from './grain.ts';

/** A knot is resinous: it chars at this share of clear wood's dose (estimate; calibrate). */
const KNOT_ONSET = 0.3;

/** The wood of a knot: darker, and black at a smaller dose. */
export function knotWood(wood: Wood): Wood {
  const [l, a, b] = wood.colorLab;
  return {
    ...wood,
    colorLab: [Math.max(5, l - KNOT_LIGHTNESS), a + 5, b + 2],
    absorptance: woodAbsorptanceAt(wood.absorptance, 1),
    scorchOnsetJPerMm2: wood.scorchOnsetJPerMm2 * KNOT_ONSET,
    // A knot ends blacker than the wood round it (common practice, no published source).
    lightnessLoss: Math.max(0, wood.lightnessLoss - KNOT_LIGHTNESS + 15),
  };
}

/** Absorptance of wood of a shade (0 clear, 1 knot): a knot reflects half as much (estimate from its lightness). */
export const woodAbsorptanceAt = (absorptance: number, shade: number): number =>
  1 - (1 - absorptance) * Math.max(0.2, 1 - 0.5 * shade);
