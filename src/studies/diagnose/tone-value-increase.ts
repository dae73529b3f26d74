import { density, dotShareFromDensity } from '../../physics/material/halftone.ts';

/**
 * How much larger dots look than they were meant: the apparent dot share by Murray–Davies less the nominal one. Reflectances (CIE Y over that
 * of white) of the tint, of full dots and of the ground, all over 0. Dots may be darker or lighter than the ground.
 * Source: A. Murray 1936; J. A. C. Yule & W. J. Nielsen 1951 for what it comes from. Test: test/reference/tone-value-increase.test.ts.
 * @returns share, −1 … 1; 0 where dots and ground are alike.
 */
export function toneValueIncrease(nominal: number, tint: number, dot: number, ground: number): number {
  if (Math.abs(dot - ground) < 1e-9) return 0;
  return dotShareFromDensity(density(tint) - density(ground), density(dot) - density(ground)) - nominal;
}
