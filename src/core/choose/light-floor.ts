import { createMonotoneCurve } from '../image/monotone-curve.ts';
import type { Tone } from '../piece/schema.ts';
import { LIGHT_AREA_LIGHTNESS } from '../quality/clearing.ts';

/** How steeply the floor falls below the light areas. */
const SLOPE = 3;

/**
 * Prepared lightness that a tone gets at least: what is light in the photograph must be a light area of the burn too, so that it is meant
 * to clear. A fitted curve alone would grade it into powers that leave thick places of the coat standing.
 */
export const lightFloor = (tone: number): number =>
  tone >= LIGHT_AREA_LIGHTNESS ? tone : Math.max(0, LIGHT_AREA_LIGHTNESS - SLOPE * (LIGHT_AREA_LIGHTNESS - tone));

/** A fitted curve raised to the floor. */
export function raisedCurve(curve: readonly (readonly [number, number])[]): Tone['curve'] {
  const read = createMonotoneCurve(curve);
  const places = [...new Set([...curve.map(([x]) => x), LIGHT_AREA_LIGHTNESS])].sort((a, b) => a - b);
  return places.map((x) => [x, Math.max(read(x), lightFloor(x))]);
}
