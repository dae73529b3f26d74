import type { CardBox } from './card.ts';

/** A square millimetre of intact paint: where its middle lies, mm, and the logarithm of its luminance over that of evenly falling light. */
export interface PaintSample {
  readonly xMm: number;
  readonly yMm: number;
  readonly off: number;
}

export interface LocalLight {
  /** Logarithm of the light round a box over evenly falling light. */
  readonly level: number;
  /** How much it differs round the box, logarithm. */
  readonly spread: number;
}

/** How far round a box its light is asked for, mm: to the paint beyond the labels. */
const ROUND_MM = 4;
const LEAST_SAMPLES = 4;

/** What the paint round a box says of the light on it; null where none is near. */
export function lightRound(
  { xMm, yMm, widthMm, heightMm }: CardBox,
  samples: readonly PaintSample[],
): LocalLight | null {
  const near = samples
    .filter(
      (one) =>
        Math.max(xMm - one.xMm, one.xMm - xMm - widthMm) < ROUND_MM / 2 &&
        Math.max(yMm - one.yMm, one.yMm - yMm - heightMm) < ROUND_MM,
    )
    .map(({ off }) => off)
    .sort((a, b) => a - b);
  if (near.length < LEAST_SAMPLES) return null;
  const at = (share: number) => near[Math.round(share * (near.length - 1))];
  return { level: at(0.5), spread: at(0.9) - at(0.1) };
}

/** Paint in even light differs by less round any patch, and from one patch to the next (rendered photographs: 0.05 and 0.016). */
const EVEN_SPREAD = 0.08;
const EVEN_LEVEL = 0.05;

/** Whether some light does not fall evenly: an edge of shade, or a patch of it. */
export const isShaded = (lights: readonly (LocalLight | null)[]): boolean =>
  lights.some((light) => light !== null && (light.spread > EVEN_SPREAD || Math.abs(light.level) > EVEN_LEVEL));

/** Whether the light on a box is not one but several, so that it cannot be mended. */
export const isOnEdge = (light: LocalLight | null, spread = EVEN_SPREAD): boolean =>
  light === null || light.spread > spread;

/** How far off L* may be where light differs by so much within reach, as a standard deviation: half of it, either way. */
export const shadeDeviation = (lightness: number, light: LocalLight | null): number =>
  ((lightness + 16) / 3) * 0.5 * (light?.spread ?? 0.3);
