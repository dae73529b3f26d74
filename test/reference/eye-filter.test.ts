import { describe, expect, test } from 'vitest';
import { eyeCutOff, eyeGaussians, seenPlane } from '../../src/image/eye-filter.ts';

/** R. Näsänen 1984: c = 0.525, d = 3.91 (values from memory); what follows from them is worked out here by hand. */
describe('the eye’s filter', () => {
  test('falls to 1/e at 5.48 cycles per degree under 20 cd/m², 0.785 cycles per mm at 40 cm', () => {
    expect(eyeCutOff(400, 20)).toBeCloseTo(5.483 / 6.981, 3);
    expect(eyeCutOff(800, 20)).toBeCloseTo(eyeCutOff(400, 20) / 2, 9);
  });

  test('is the exponential within 0.035, and lets a mean through', () => {
    const cutOff = eyeCutOff();
    for (let cycles = 0; cycles < 5; cycles += 0.05) {
      const sum = eyeGaussians(1).reduce(
        (total, [share, sigma]) => total + share * Math.exp(-2 * (Math.PI * sigma * cycles) ** 2),
        0,
      );
      expect(Math.abs(sum - Math.exp(-cycles / cutOff))).toBeLessThan(0.035);
    }
    const even = seenPlane(new Float32Array(900).fill(0.3), 30, 30, 0.1);
    expect(Math.max(...even.map((value) => Math.abs(value - 0.3)))).toBeLessThan(1e-5);
  });

  test('takes as much off a wave as its frequency asks', () => {
    const pitchMm = 0.1;
    const cyclesPerMm = 1;
    const wave = Float32Array.from({ length: 200 * 200 }, (_, i) =>
      Math.cos(2 * Math.PI * cyclesPerMm * pitchMm * (i % 200)),
    );
    const seen = seenPlane(wave, 200, 200, pitchMm);
    expect(seen[100 * 200 + 100]).toBeCloseTo(Math.exp(-cyclesPerMm / eyeCutOff()), 1);
  });
});
