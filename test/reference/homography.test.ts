import { describe, expect, test } from 'vitest';
import { srgbDecodingTable } from '../../src/base/color/srgb.ts';
import { applyHomography, fitHomography, invertHomography } from '../../src/base/geometry/homography.ts';
import { otsuThreshold } from '../../src/base/geometry/otsu.ts';
import type { Point } from '../../src/base/geometry/outline.ts';
import { lensOfPhoto, rectifyPhoto } from '../../src/vision/slab/rectify.ts';
import fixture from '../fixtures/slab/homography.json' with { type: 'json' };

/**
 * Values of scikit-image 0.19.3 (test/fixtures/slab/make-homography.py). Four points have one exact map, so nothing but rounding may
 * differ; for twelve noisy points both minimise the algebraic error of the same normalised system.
 */
const MAP_TOLERANCE_MM = 1e-6;

const points = (list: number[][]): Point[] => list.map(([x, y]): Point => [x, y]);

describe('projective maps agree with scikit-image', () => {
  test.each(fixture.fits)('$name', ({ from, to, probe, mapped }) => {
    const map = fitHomography(points(from), points(to));
    const back = invertHomography(map);
    points(probe).forEach((point, i) => {
      const hit = applyHomography(map, point);
      expect(Math.abs((hit?.[0] ?? Number.NaN) - mapped[i][0])).toBeLessThan(MAP_TOLERANCE_MM);
      expect(Math.abs((hit?.[1] ?? Number.NaN) - mapped[i][1])).toBeLessThan(MAP_TOLERANCE_MM);
      const again = applyHomography(back, [mapped[i][0], mapped[i][1]]);
      expect(again?.[0]).toBeCloseTo(point[0], 5);
      expect(again?.[1]).toBeCloseTo(point[1], 5);
    });
  });
});

describe('a rectified photo agrees with scikit-image', () => {
  const { width, height, code, corners, warps } = fixture.picture;
  const rgba = new Uint8Array(4 * width * height);
  for (let i = 0; i < width * height; i++) rgba.set([...code.slice(3 * i, 3 * i + 3), 255], 4 * i);
  const toMm = fitHomography(points(corners), [
    [0, 0],
    [60, 0],
    [60, 45],
    [0, 45],
  ]);
  const linear = srgbDecodingTable(8);
  const area = { leftMm: 0, topMm: 0, widthMm: 60, heightMm: 45 };

  /**
   * Where a pixel is one bilinear sample, or the mean of 2 × 2, only our rounding to a byte differs: half a code, and the table's half more, which is at
   * most 0.009 in linear light at the light end. Shrunk five times the sampling grids differ (8 against 16 a side, each on its own
   * straight piece), and the mean of 64 samples over a hard edge moves by up to one sample's share of a side, 1/8 of the edge at the very
   * worst; 0.03 is asked of each and 0.004 of the mean.
   */
  test.each(warps)('$pitchMm mm a pixel', ({ pitchMm, samples, width: w, height: h, linear: expected }) => {
    const flat = rectifyPhoto({ width, height, rgba }, { lens: lensOfPhoto({ width, height }), toMm }, area, pitchMm);
    expect([flat.width, flat.height]).toEqual([w, h]);
    let worst = 0;
    let sum = 0;
    for (let i = 0; i < w * h; i++) {
      expect(flat.rgba[4 * i + 3]).toBe(255);
      for (let k = 0; k < 3; k++) {
        const off = Math.abs(linear[flat.rgba[4 * i + k]] - expected[3 * i + k]);
        worst = Math.max(worst, off);
        sum += off;
      }
    }
    expect(worst).toBeLessThan(samples < 16 ? 0.009 : 0.03);
    expect(sum / (3 * w * h)).toBeLessThan(0.004);
  });
});

test('Otsu’s threshold agrees with scikit-image, whose histogram ends at the largest value', () => {
  const { values, threshold } = fixture.otsu;
  const top = Math.max(...values);
  // It names the middle of the last bin of the lower group, we its upper edge; both start at 0, the smallest value.
  expect(Math.abs(otsuThreshold(values, top) - threshold - top / 512)).toBeLessThan(1e-6);
});
