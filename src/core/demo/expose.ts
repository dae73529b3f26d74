import { Cancelled } from '../cancelled.ts';
import { hashToUnit } from '../random/lattice-hash.ts';
import { CAMERA } from './scene.ts';
import { type Luck, lightAlong, seen } from './shade.ts';

const SEED = 911;
const FIRST = 2;
const WATER = 6;
const EDGE = 12;
/** Difference between samples of one pixel, in √luminance, above which more of them are taken. */
const TOLERANCE = 0.035;

/** The scene's light through the lens: linear luminance per pixel, before anything photographic. */
export function exposeScene(
  width: number,
  height: number,
  onRow?: (row: number, rows: number) => boolean | void,
): Float32Array {
  const plane = new Float32Array(width * height);
  const spread = CAMERA.halfWidth / width;
  const luck: Luck = { first: 0, second: 0 };
  const roots = new Float64Array(EDGE);

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
      let bodies = 0;
      let water = false;
      let body = null;
      for (let k = 0; k < FIRST; k++) {
        const light = sample(x, y, k, shift);
        sum += light;
        roots[k] = Math.sqrt(light);
        low = Math.min(low, roots[k]);
        high = Math.max(high, roots[k]);
        if (k > 0 && seen.body !== body) bodies++;
        body = seen.body;
        water ||= seen.water;
      }
      const total = bodies > 0 || high - low > TOLERANCE ? EDGE : water ? WATER : FIRST;
      for (let k = FIRST; k < total; k++) sum += sample(x, y, k, shift);
      plane[y * width + x] = sum / total;
    }
    if (onRow?.(y + 1, height) === false) throw new Cancelled();
  }
  return plane;
}
