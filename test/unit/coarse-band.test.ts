import { expect, test } from 'vitest';
import { barkHeights, rimMesh } from '../../src/render/mesh/rim.ts';
import { coarseBand } from '../../src/render/mockup/mockup-scene.ts';
import { SMALL_SLAB } from '../helpers/small-face.ts';

test('a rim in a hurry is closed, reaches as far and has a sixth of the triangles', () => {
  const { position, index } = rimMesh(SMALL_SLAB, barkHeights());
  const coarse = coarseBand(index);
  expect(coarse.length).toBeLessThan(index.length / 5);
  const columns = index[1] - index[0];
  const used = new Set(coarse);
  for (const corner of [0, columns - 1, position.length / 3 - columns, position.length / 3 - 1])
    expect(used).toContain(corner);
  const area = (list: Uint32Array): number => {
    let sum = 0;
    for (let i = 0; i < list.length; i += 3) {
      const [a, b, c] = [0, 1, 2].map((k) => position.subarray(3 * list[i + k], 3 * list[i + k] + 3));
      const [u, v] = [b, c].map((end) => [0, 1, 2].map((k) => end[k] - a[k]));
      sum += Math.hypot(u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]) / 2;
    }
    return sum;
  };
  // Bark is furrowed: a smoother band is smaller.
  expect(area(coarse) / area(index)).toBeGreaterThan(0.7);
  expect(area(coarse) / area(index)).toBeLessThan(1.02);
});
