import type { Pass, Source } from '../../piece/schema.ts';
import { radiiForHeading, radiusAtMm } from './gaussian.ts';

/**
 * Watts that leave the source when so much of full power is set: nothing below the firing floor, then along the power curve
 * (linear between its points; straight when empty).
 */
export function outputPowerW(source: Source, setShare: number): number {
  if (setShare <= 0 || setShare < source.firingFloor) return 0;
  return source.fullPowerW * curveAt(source.powerCurve, setShare);
}

/** Share of full power that a pass sets at a level, 0–255, between its dark end and its light end. */
export const powerAt = (
  { darkEndPower, lightEndPower }: Pick<Pass, 'darkEndPower' | 'lightEndPower'>,
  level: number,
): number => darkEndPower + ((lightEndPower - darkEndPower) * level) / 255;

/** Watts that leave the source at a level of a pass. */
export const wattsAtLevel = (source: Source, pass: Pass, level: number): number =>
  outputPowerW(source, powerAt(pass, level));

function curveAt(curve: readonly (readonly [number, number])[], share: number): number {
  if (curve.length === 0) return share;
  const points = [[0, 0] as const, ...curve.filter(([x]) => x > 0), ...(curve.at(-1)![0] < 1 ? [[1, 1] as const] : [])];
  for (let i = 1; i < points.length; i++) {
    const [x1, y1] = points[i];
    if (share <= x1) {
      const [x0, y0] = points[i - 1];
      return x1 === x0 ? y1 : y0 + ((y1 - y0) * (share - x0)) / (x1 - x0);
    }
  }
  return points.at(-1)![1];
}

/** 1/e² radii of the spot on the work for one pass, mm: out of focus, turned with the rows. `heightMm`: the work's over the slab's middle. */
export function spotRadii(source: Source, pass: Pass, heightMm = 0): { alongMm: number; acrossMm: number } {
  const offsetMm = pass.focusOffsetMm - heightMm;
  const grow = (waistMm: number) => radiusAtMm(waistMm, source.wavelengthNm, source.beamQuality, offsetMm);
  return radiiForHeading(grow(source.spotAlongMm), grow(source.spotAcrossMm), pass.headingRad);
}
