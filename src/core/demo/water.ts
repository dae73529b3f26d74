import { noise } from './noise.ts';

/** Waves as: wavelength along x and z in metres, steepness of their slopes. Long and low: the evening is calm. */
const WAVES: readonly (readonly [number, number, number])[] = [
  [7, 3.4, 0.022],
  [2.6, 1.3, 0.026],
  [1.1, 0.5, 0.03],
  [0.42, 0.22, 0.026],
];

/**
 * Slope of the water at a point, along x and z, written into `slope`; what is finer than the eye resolves is left to `luck`, two
 * normally distributed numbers.
 * @param resolved length on the water, away from us, that the picture resolves.
 */
export function waterSlope(
  slope: Float64Array,
  x: number,
  z: number,
  resolved: number,
  luckX: number,
  luckZ: number,
): void {
  let sx = 0;
  let sz = 0;
  let lost = 0;
  // Cat's paws: breaths of wind that ruffle one patch and leave the next one smooth.
  const breath =
    0.55 + 0.75 * Math.max(-0.4, noise(0.045 * x + 3, 0.11 * z, 6.1)) + 0.3 * noise(0.16 * x, 0.4 * z, 2.6);
  // Far off the ripples lie in the lee of the land.
  const lee = breath / (1 + 0.018 * Math.max(0, z - 15));
  for (let i = 0; i < WAVES.length; i++) {
    const [lx, lz, steep] = WAVES[i];
    const share = 1 / (1 + (resolved / lz) ** 2);
    const strength = steep * lee;
    lost += (1 - share) * strength;
    if (share < 0.05) continue;
    const u = x / lx + 0.3 * (z / lz);
    const v = z / lz;
    const h = noise(u, v, i + 0.5);
    sx += share * strength * 2.2 * (noise(u + 0.2, v, i + 0.5) - h) * 2.5;
    sz += share * strength * 2.2 * (noise(u, v + 0.2, i + 0.5) - h) * 5;
  }
  slope[0] = sx + 0.5 * lost * luckX;
  slope[1] = sz + 0.9 * lost * luckZ;
}
