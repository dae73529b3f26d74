import { describe, expect, test } from 'vitest';
import { blurGaussian } from '../../src/image/gaussian-blur.ts';
import { applyUnsharpMask } from '../../src/image/tone.ts';

function impulse(width: number, height: number, x: number, y: number): Float32Array {
  const plane = new Float32Array(width * height);
  plane[y * width + x] = 1;
  return plane;
}

describe('blurGaussian', () => {
  test.each([0.6, 1.5, 2.9, 3.1, 5, 8.4])('of σ %d spreads a point as a Gaussian does', (sigma) => {
    const side = 101;
    const out = blurGaussian(impulse(side, side, 50, 50), side, side, sigma);
    let sum = 0;
    let varianceX = 0;
    let varianceY = 0;
    out.forEach((value, i) => {
      sum += value;
      varianceX += value * ((i % side) - 50) ** 2;
      varianceY += value * (Math.floor(i / side) - 50) ** 2;
    });
    expect(sum).toBeCloseTo(1, 4);
    // Sampled and cut at 4 σ the variance is right within 1 % (3 % where σ is less than a dot); the running means have it exactly.
    expect(Math.abs(varianceX / sigma ** 2 - 1)).toBeLessThan(sigma < 1 ? 0.03 : 0.01);
    expect(Math.abs(varianceY / sigma ** 2 - 1)).toBeLessThan(sigma < 1 ? 0.03 : 0.01);
    const peak = 1 / (2 * Math.PI * sigma ** 2);
    let worst = 0;
    out.forEach((value, i) => {
      const square = ((i % side) - 50) ** 2 + (Math.floor(i / side) - 50) ** 2;
      worst = Math.max(worst, Math.abs(value - peak * Math.exp(-square / (2 * sigma ** 2))));
    });
    // Four running means have an excess kurtosis of −1.2 / 4, which lowers the peak by about 0.3 / 8 in each direction.
    expect(worst / peak).toBeLessThan(sigma > 3 ? 0.075 : 0.02 + (sigma < 1 ? 0.05 : 0));
  });

  test.each([1, 40])('keeps the sum and a flat plane, σ %d, even where it is wider than the plane', (sigma) => {
    const flat = blurGaussian(new Float32Array(35).fill(0.3), 7, 5, sigma);
    for (const value of flat) expect(value).toBeCloseTo(0.3, 5);
    const corner = blurGaussian(impulse(7, 5, 0, 0), 7, 5, sigma);
    expect(corner.reduce((sum, value) => sum + value, 0)).toBeCloseTo(1, 4);
  });

  test('takes nothing, one point, and no radius', () => {
    expect(blurGaussian(new Float32Array(0), 0, 0, 3).length).toBe(0);
    expect(blurGaussian(Float32Array.of(0.7), 1, 1, 30)[0]).toBeCloseTo(0.7, 5);
    expect([...blurGaussian(Float32Array.of(1, 0, 0), 3, 1, 0)]).toEqual([1, 0, 0]);
  });
});

describe('applyUnsharpMask', () => {
  const edge = (width: number, low: number, high: number) => ({
    width,
    height: 3,
    lightness: Float32Array.from({ length: width * 3 }, (_, i) => (i % width < width / 2 ? low : high)),
    mask: new Uint8Array(width * 3).fill(255),
  });
  const settings = { radiusMm: 0.2, amount: 1, threshold: 0 };

  test('steepens an edge on both sides and leaves the flat alone', () => {
    const image = edge(40, 0.4, 0.6);
    applyUnsharpMask(image, settings, 0.1);
    expect(image.lightness[0]).toBeCloseTo(0.4, 6);
    expect(image.lightness[39]).toBeCloseTo(0.6, 6);
    // One side of a step of 0.2 blurred with σ = 2 dots: 0.2 · Φ(−0.25) = 0.0803 away from the step.
    expect(image.lightness[19]).toBeCloseTo(0.4 - 0.0803, 3);
    expect(image.lightness[20]).toBeCloseTo(0.6 + 0.0803, 3);
  });

  test('the radius is in mm: half the pitch, twice the dots', () => {
    const coarse = edge(40, 0.4, 0.6);
    const fine = edge(80, 0.4, 0.6);
    applyUnsharpMask(coarse, settings, 0.1);
    applyUnsharpMask(fine, settings, 0.05);
    expect((fine.lightness[36] + fine.lightness[37]) / 2).toBeCloseTo(coarse.lightness[18], 2);
  });

  test('the threshold takes off what it is, without a jump', () => {
    const without = edge(40, 0.4, 0.6);
    const withIt = edge(40, 0.4, 0.6);
    applyUnsharpMask(without, settings, 0.1);
    applyUnsharpMask(withIt, { ...settings, threshold: 0.03 }, 0.1);
    expect(withIt.lightness[19]).toBeCloseTo(without.lightness[19] + 0.03, 6);
    const above = edge(40, 0.4, 0.6);
    applyUnsharpMask(above, { ...settings, threshold: 0.5 }, 0.1);
    expect(above.lightness).toEqual(edge(40, 0.4, 0.6).lightness);
  });

  test('is held in 0–1', () => {
    const image = edge(40, 0.02, 0.98);
    applyUnsharpMask(image, { ...settings, amount: 5 }, 0.1);
    expect(Math.min(...image.lightness)).toBe(0);
    expect(Math.max(...image.lightness)).toBe(1);
  });

  test('what is masked out neither changes nor counts', () => {
    const image = edge(40, 0.5, 0);
    image.mask.forEach((_, i) => {
      if (i % 40 >= 20) image.mask[i] = 0;
    });
    applyUnsharpMask(image, settings, 0.1);
    for (let x = 0; x < 20; x++) expect(image.lightness[x]).toBeCloseTo(0.5, 5);
    for (let x = 20; x < 40; x++) expect(image.lightness[x]).toBe(0);
  });
});
