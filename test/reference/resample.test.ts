import { describe, expect, test } from 'vitest';
import { resamplePicture } from '../../src/image/resample.ts';
import fixture from '../fixtures/image/resample.json' with { type: 'json' };

/**
 * Pillow 9.4.0 resamples the same image with the same window in floating point (test/fixtures/image/make-resample.py).
 * Tolerance: our planes are 16-bit codes of 1/43690, rounded before, between and after the two passes; half a step each,
 * the first two widened by the filter's gain of at most 1.3 per direction: 3.1e-5 in the worst case.
 */
const TOLERANCE = 3.2e-5;
const luminance = Float32Array.from(fixture.values);

describe('resampling agrees with an independent implementation', () => {
  test.each(fixture.results)('$width × $height', ({ width, height, values }) => {
    const picture = { width: fixture.width, height: fixture.height, luminance, alpha: null };
    const result = resamplePicture(picture, width, height);
    let worst = 0;
    values.forEach((value, i) => {
      worst = Math.max(worst, Math.abs(result.luminance[i] - Math.min(1, Math.max(0, value))));
    });
    expect(result.luminance.length).toBe(values.length);
    expect(worst).toBeLessThan(TOLERANCE);
  });

  test('the image overshoots somewhere, so the held ends are tested too', () => {
    const all = fixture.results.flatMap((result) => result.values);
    expect(Math.max(...all)).toBeGreaterThan(1.03);
    expect(Math.min(...all)).toBeLessThan(-0.03);
  });
});
