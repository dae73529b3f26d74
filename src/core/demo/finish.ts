import { blurGaussian } from '../image/gaussian-blur.ts';
import { lightnessToLuminance, luminanceToLightness } from '../image/lightness.ts';
import { createGrain } from './grain.ts';
import { clamp } from './shapes.ts';

/** How the exposed scene becomes an old print. Lengths are shares of the picture's width. */
export const FINISH = {
  /** Standard deviation of the lens's softness, and of the glow around bright things with its share. */
  softness: 0.00032,
  glow: 0.009,
  glowShare: 0.07,
  /** Light lost in the corners. */
  vignette: 0.2,
  exposure: 1.38,
  /** Lightness (0–1) of the print's deepest black and of its bare paper. */
  black: 0.07,
  paper: 0.945,
  /** Grain in lightness at mid grey. */
  grain: 0.026,
  fineCells: 1500,
  coarseCells: 620,
} as const;

/** Lens, film and age: turns the scene's light into the print's luminance, in place. */
export function finishPrint(plane: Float32Array, width: number, height: number): Float32Array {
  const soft = blurGaussian(plane, width, height, FINISH.softness * width);
  const glow = blurGaussian(plane, width, height, FINISH.glow * width);
  const fine = createGrain(width, height, FINISH.fineCells, 31);
  const coarse = createGrain(width, height, FINISH.coarseCells, 32);
  const corner = 1 + (height / width) ** 2;
  for (let y = 0; y < height; y++) {
    const v = (2 * y + 1 - height) / width;
    for (let x = 0; x < width; x++) {
      const at = y * width + x;
      const u = (2 * x + 1) / width - 1;
      const off = (u * u + v * v) / corner;
      const light = (soft[at] + FINISH.glowShare * (glow[at] - soft[at])) * (1 - FINISH.vignette * off * off);
      const lightness = luminanceToLightness(develop(FINISH.exposure * light));
      // Grain is strongest in the middle tones: there is little silver in the lights and little room in the shadows.
      const strength = FINISH.grain * (0.3 + 2.8 * lightness * (1 - lightness));
      const grained = clamp(lightness + strength * (0.8 * fine[at] + 0.5 * coarse[at]), 0, 1);
      plane[at] = lightnessToLuminance(FINISH.black + (FINISH.paper - FINISH.black) * grained);
    }
  }
  return plane;
}

/** The film's curve: a toe that deepens the shadows, a straight part, a shoulder that ends at 1. */
function develop(light: number): number {
  const toed = (light * (light + 0.012)) / (light + 0.06);
  const knee = 0.55;
  if (toed <= knee) return toed;
  return knee + (1 - knee) * (1 - Math.exp(-(toed - knee) / (1 - knee)));
}
