import { Cancelled } from '../cancelled.ts';
import { hashToUnit } from '../random/lattice-hash.ts';
import type { Body } from './body.ts';
import { CAMERA } from './scene.ts';
import { type Luck, lightAlong, seen } from './shade.ts';

const SEED = 911;
/** Samples of a pixel: at first, where those differ by `ROUGH` or show water, and where even these differ by `COARSE`. */
const FIRST = 3;
const SECOND = 5;
const THIRD = 8;
/** Differences in √luminance. */
const ROUGH = 0.07;
const COARSE = 0.18;

/** The scene's light through the lens: linear luminance per pixel, before anything photographic. */
export function exposeScene(
  width: number,
  height: number,
  onRow?: (row: number, rows: number) => unknown,
): Float32Array {
  const plane = new Float32Array(width * height);
  const spread = CAMERA.halfWidth / width;
  const luck: Luck = { first: 0, second: 0 };
  /** Sample k of a pixel: its place follows the R2 sequence (additive recurrence), shifted per pixel. */
  const sample = (px: number, py: number, k: number, shift: number): number => {
    const u = (0.7548776662466927 * (k + 1) + shift) % 1;
    const v = (0.5698402909980532 * (k + 1) + 7.31 * shift) % 1;
    luck.first = hashToUnit(SEED + k, px, py);
    luck.second = hashToUnit(SEED + 100 + k, px, py);
    const dx = ((2 * (px + u) - width) / width) * CAMERA.halfWidth;
    const dy = ((height - 2 * (py + v)) / width - CAMERA.horizon) * CAMERA.halfWidth;
    const scale = 1 / Math.sqrt(dx * dx + dy * dy + 1);
    return lightAlong(CAMERA.height, dx * scale, dy * scale, scale, spread, luck);
  };

  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      const shift = hashToUnit(SEED - 1, x, y);
      let sum = 0;
      let low = 9;
      let high = 0;
      let first: Body | null = null;
      let edge = false;
      let taken = 0;
      let wanted = FIRST;
      while (taken < wanted) {
        const light = sample(x, y, taken, shift);
        sum += light;
        const root = Math.sqrt(light);
        low = Math.min(low, root);
        high = Math.max(high, root);
        if (taken === 0) first = seen.body;
        else if (seen.body !== first) edge = true;
        taken++;
        if (taken === FIRST && (edge || seen.water || high - low > ROUGH)) wanted = SECOND;
        if (taken === SECOND && (edge || high - low > COARSE)) wanted = THIRD;
      }
      plane[y * width + x] = sum / taken;
    }
    if (onRow?.(y + 1, height) === false) throw new Cancelled();
  }
  return plane;
}
