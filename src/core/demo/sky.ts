import { noise, roughness } from './noise.ts';
import { mix, ramp } from './shapes.ts';

/** Direction to the low sun, behind us and to the left; of length 1. */
export const SUN: readonly [number, number, number] = [-0.628, 0.262, -0.733];

/** Luminance of the haze that distance fades into, and the distance in metres over which a view loses 1 − 1/e to it. */
const HAZE = 0.6;
const CLEARNESS_M = 950;

/** Light after its way through the haze. */
export const throughHaze = (light: number, distance: number): number =>
  mix(light, HAZE, 1 - Math.exp(-distance / CLEARNESS_M));

/** Sky without hills, in a direction of length 1. */
export function skyLight(dx: number, dy: number, dz: number): number {
  const up = Math.max(0, dy);
  const forward = Math.sqrt(dx * dx + dz * dz);
  const side = dx / (forward + 1e-9);
  const glow = Math.exp(-(((side - 0.01) / 0.36) ** 2));
  const clear = 0.075 + (0.45 + 0.24 * glow) * Math.exp(-7 * up) + 0.26 * glow * Math.exp(-22 * up);
  // Clouds lie in one layer, so that they draw together towards the horizon.
  const depth = 1 / (up + 0.07);
  const cx = dx * depth;
  const cz = dz * depth;
  const drift = roughness(0.55 * cx + 0.25 * cz, 0.2 * cz, 1.7, 3);
  const veil = roughness(0.62 * cx + 1.1 * drift, 0.9 * cz + 0.9 * drift, 4.4, 5);
  const streaks = roughness(0.32 * cx + 0.4 * drift, 2.1 * cz + 0.5 * drift, 8.1, 5);
  const thick = ramp(-0.02, 0.42, veil) * 0.6 + ramp(0, 0.4, streaks) * 0.4;
  const cover = thick * ramp(0.01, 0.09, up);
  const lit = mix(0.6, 0.26, ramp(0.05, 0.36, up)) + 0.12 * glow;
  const shade = ramp(0.2, 0.6, roughness(0.8 * cx + 1.5 * drift, 1.4 * cz, 2.2, 4) + 0.25) * 0.2;
  return mix(clear, Math.max(clear * 0.92, lit * (1 - shade) + 0.3 * clear), 0.8 * cover);
}

const ridge = (across: number, base: number, height: number, seed: number): number =>
  base + height * (0.5 + roughness(4.1 * across, seed, 0.5, 5)) * ramp(1.5, 0.1, Math.abs(across + 0.12 * seed - 0.4));

/** Sky with the hazy hills beyond the water. */
export function backdrop(dx: number, dy: number, dz: number): number {
  const sky = skyLight(dx, dy, dz);
  if (dz <= 0) return sky;
  const across = dx / dz;
  const up = dy / dz;
  if (up > 0.16) return sky;
  let light = sky;
  const far = ridge(across, 0.004, 0.062, 1.3);
  if (up < far) light = mix(0.5, 0.4, ramp(-0.4, 0.4, across)) * mix(1.12, 0.94, ramp(0, far, up));
  const near = ridge(across + 2.2, -0.012, 0.05, 5.7) * ramp(0.05, -0.28, across) + 0.003;
  if (up < near) light = mix(0.34, 0.27, ramp(0, near, up)) * (1 + 0.12 * noise(90 * across, 160 * up, 2));
  return light;
}
