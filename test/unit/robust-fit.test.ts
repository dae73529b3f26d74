import { describe, expect, test } from 'vitest';
import { createGenerator } from '../../src/base/random/generator.ts';
import { FIT_OPTIONS, robustFit, weakDirections } from '../../src/studies/calibrate/fit/robust-fit.ts';
import { lowerTriangle } from '../../src/studies/sure/spread.ts';

/** A straight line through points, as the simplest thing to fit. */
const line = (points: readonly (readonly [number, number])[], deviation: number, prior = 1e3) => ({
  residuals: (at: Float64Array) => Float64Array.from(points, ([x, y]) => (y - at[0] - at[1] * x) / deviation),
  priorLower: [
    [prior, 0],
    [0, prior],
  ],
  priorMean: new Float64Array(2),
});

describe('the robust fit', () => {
  test('finds a planted line, and its covariance is the textbook one', () => {
    const random = createGenerator(3);
    const points = Array.from({ length: 400 }, (_, i): [number, number] => [
      i / 200 - 1,
      2 + 3 * (i / 200 - 1) + 0.1 * random.nextNormal(),
    ]);
    const fit = robustFit(line(points, 0.1));
    expect(Math.abs(fit.at[0] - 2)).toBeLessThan(0.02);
    expect(Math.abs(fit.at[1] - 3)).toBeLessThan(0.03);
    // σ²/n and σ²/Σx² for normal noise; t weights at its scale come out within a few per cent of 1.
    expect(Math.abs(fit.covariance[0][0] / (0.01 / 400) - 1)).toBeLessThan(0.1);
    expect(Math.abs(fit.covariance[1][1] / (0.01 / points.reduce((sum, [x]) => sum + x * x, 0)) - 1)).toBeLessThan(0.1);
  });

  test('lets one misread point go', () => {
    const points = Array.from({ length: 20 }, (_, i): [number, number] => [i / 10, 1 + i / 10]);
    points[7] = [0.7, 9];
    const fit = robustFit(line(points, 0.1));
    expect(Math.abs(fit.at[0] - 1)).toBeLessThan(0.02);
    expect(fit.weights[7]).toBeLessThan(0.01);
  });

  test('a strong prior holds against weak data, and gives way to a contradiction that is plain', () => {
    const weak = robustFit(line([[0, 5]], 10, 0.1));
    expect(Math.abs(weak.at[0])).toBeLessThan(0.01);
    const points = Array.from({ length: 50 }, (_, i): [number, number] => [i / 50, 5]);
    expect(Math.abs(robustFit(line(points, 0.1, 0.5)).at[0] - 5)).toBeLessThan(0.05);
  });

  test('follows a curve: an exponential from a start far off', () => {
    const truth = [0.8, -1.3];
    const at = (k: readonly number[] | Float64Array, x: number) => Math.exp(k[0] + k[1] * x);
    const fit = robustFit({
      residuals: (place) => Float64Array.from({ length: 30 }, (_, i) => (at(truth, i / 10) - at(place, i / 10)) / 0.01),
      priorLower: lowerTriangle([
        [1, 0],
        [0, 1],
      ]),
      priorMean: Float64Array.from([0, 1]),
    });
    expect(fit.settled).toBe(true);
    expect(Math.abs(fit.at[0] - 0.8)).toBeLessThan(1e-3);
    expect(Math.abs(fit.at[1] + 1.3)).toBeLessThan(1e-3);
  });

  test('names the direction that the data leave open', () => {
    // Only the sum of both is measured.
    const fit = robustFit({
      ...line([], 1, 1),
      residuals: (at) => Float64Array.from([(at[0] + at[1] - 1) / 0.01]),
    });
    const [weak, ...others] = weakDirections(fit.information, [
      [1, 0],
      [0, 1],
    ]);
    expect(others).toEqual([]);
    expect(weak.ratio).toBeLessThan(1e-6);
    expect(weak.parts.map(({ index }) => index).sort()).toEqual([0, 1]);
    expect(weak.parts[0].share * weak.parts[1].share).toBeLessThan(0);
  });

  test('gives up after the rounds it is given, and says so', () => {
    const points = Array.from({ length: 5 }, (_, i): [number, number] => [i, 100 * i]);
    expect(robustFit(line(points, 1e-3), { ...FIT_OPTIONS, most: 1 }).settled).toBe(false);
  });
});
