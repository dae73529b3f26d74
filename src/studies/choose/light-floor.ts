import { LIGHT_AREA_LIGHTNESS } from '../../burn/clearing.ts';
import { createMonotoneCurve } from '../../image/monotone-curve.ts';
import type { Tone } from '../../piece/schema.ts';

/** How steeply the floor falls below the light areas. */
const SLOPE = 3;

/**
 * Prepared lightness that a tone gets at least: what is light in the photograph must be a light area of the burn too, so that it is meant
 * to clear. A fitted curve alone would grade it into powers that leave thick places of the coat standing.
 * @param solid 0: light areas keep their tones; 1: they are burned without a gap, because dots beside gaps get less and clear last.
 */
export function lightFloor(tone: number, solid: number): number {
  const least = LIGHT_AREA_LIGHTNESS + (1 - LIGHT_AREA_LIGHTNESS) * solid;
  const over = tone - LIGHT_AREA_LIGHTNESS;
  return over >= 0 ? least + (1 - least) * (over / (1 - LIGHT_AREA_LIGHTNESS)) : Math.max(0, least + SLOPE * over);
}

/** A fitted curve raised to the floor. */
export function raisedCurve(curve: readonly (readonly [number, number])[], solid: number): Tone['curve'] {
  const read = createMonotoneCurve(curve);
  const places = [...new Set([...curve.map(([x]) => x), LIGHT_AREA_LIGHTNESS])].sort((a, b) => a - b);
  return places.map((x) => [x, Math.max(read(x), lightFloor(x, solid))]);
}
