import { describe, expect, test } from 'vitest';
import { applyHomography, fitHomography } from '../../src/base/geometry/homography.ts';
import type { Point } from '../../src/base/geometry/outline.ts';
import { createGenerator } from '../../src/base/random/generator.ts';
import type { Grey, TileLuminance } from '../../src/vision/burned/burned-luminance.ts';
import { lineUp } from '../../src/vision/burned/line-up.ts';

/** A picture known everywhere: −1 to 1 across its box. */
const picture = (u: number, v: number): number =>
  0.5 +
  0.2 * Math.sin(5 * u + 2 * v) +
  0.15 * Math.sin(9 * v - 3 * u * u) +
  (Math.hypot(u - 0.4, v + 0.3) < 0.25 ? 0.2 : 0);

const [columns, rows] = [160, 120];
const expected: TileLuminance = {
  columns,
  rows,
  pitchMm: 1,
  leftMm: -80,
  topMm: -60,
  // An oval of it is known.
  luminance: Float32Array.from({ length: columns * rows }, (_, i) => {
    const [u, v] = [(2 * ((i % columns) + 0.5)) / columns - 1, (2 * (Math.floor(i / columns) + 0.5)) / rows - 1];
    return Math.hypot(u, v) < 0.97 ? picture(u, v) : Number.NaN;
  }),
};
const BOX: Point[] = [
  [-1, -1],
  [1, -1],
  [1, 1],
  [-1, 1],
];
const CORNERS: Point[] = [
  [60, 52],
  [371, 40],
  [392, 301],
  [41, 280],
];

/** A photograph of it: uneven light, another exposure, a veil, noise, a table that is none of it. */
function shoot(corners: readonly Point[], noise = 0.01): Grey {
  const [width, height] = [440, 340];
  const back = fitHomography(corners, BOX);
  const random = createGenerator(5);
  const values = Float32Array.from({ length: width * height }, (_, i) => {
    const [x, y] = [(i % width) + 0.5, Math.floor(i / width) + 0.5];
    const [u, v] = applyHomography(back, [x, y])!;
    const light = 0.7 * (1 + 0.2 * (x / width - 0.5) - 0.15 * (y / height - 0.5));
    return (Math.hypot(u, v) < 1 ? 0.08 + light * picture(u, v) : 0.6) + noise * random.nextNormal();
  });
  return { width, height, values };
}
const shifted = (corners: readonly Point[], by: readonly Point[]): Point[] =>
  corners.map(([x, y], i) => [x + by[i][0], y + by[i][1]]);
const worst = (corners: readonly Point[]) =>
  Math.max(...corners.map(([x, y], i) => Math.hypot(x - CORNERS[i][0], y - CORNERS[i][1])));

const ROUGH = shifted(CORNERS, [
  [14, -9],
  [-12, 8],
  [-16, -14],
  [9, 15],
]);

/** No source: a picture is photographed from a known place, and the way back is looked for. */
describe('laying an expected picture over a photograph', () => {
  test('corners laid roughly are drawn to within a pixel', async () => {
    const { corners, correlation } = await lineUp(expected, shoot(CORNERS), [ROUGH]);
    expect(worst(corners)).toBeLessThan(1);
    expect(correlation).toBeGreaterThan(0.95);
  });

  test('of several starts the one that fits wins, whichever comes first', async () => {
    const upsideDown = [2, 3, 0, 1].map((i) => ROUGH[i]);
    for (const starts of [
      [ROUGH, upsideDown],
      [upsideDown, ROUGH],
    ]) {
      expect(worst((await lineUp(expected, shoot(CORNERS), starts)).corners)).toBeLessThan(1);
    }
  });

  test('a photograph of something else is not alike', async () => {
    const random = createGenerator(9);
    const other = { ...shoot(CORNERS), values: Float32Array.from({ length: 440 * 340 }, () => random.nextUnit()) };
    expect((await lineUp(expected, other, [ROUGH])).correlation).toBeLessThan(0.3);
  });

  test('a start outside the photograph is no fault; none at all is', async () => {
    const outside = shifted(CORNERS, new Array(4).fill([900, 0]));
    expect((await lineUp(expected, shoot(CORNERS), [outside])).correlation).toBe(-1);
    await expect(lineUp(expected, shoot(CORNERS), [])).rejects.toThrow(/nowhere to begin/);
  });
});
