import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { FIT_OPTIONS, robustFit } from '../../src/studies/calibrate/fit/robust-fit.ts';

/** SciPy's `least_squares` (version in the file) on the same widths; generator beside the fixture. Weak priors, so that none of them pulls. */
const FIXTURE: {
  powers: number[];
  widths: number[];
  misread: number[];
  plain: number[];
  covariance: number[][];
  cauchy: number[];
} = JSON.parse(readFileSync(join(import.meta.dirname, '../fixtures/calibration/two-parameter-fit.json'), 'utf8'));

const fitWidths = (widths: readonly number[], dataFreedom: number) =>
  robustFit(
    {
      residuals: ([r, t]) =>
        Float64Array.from(widths, (width, i) => {
          const over = Math.max(1, FIXTURE.powers[i] / (0.2 * Math.exp(t)));
          return (width - 0.1 * Math.exp(r) * Math.sqrt(2 * Math.log(over))) / 0.004;
        }),
      priorLower: [
        [1e4, 0],
        [0, 1e4],
      ],
      priorMean: new Float64Array(2),
    },
    { ...FIT_OPTIONS, dataFreedom, most: 200, step: 1e-4 },
  );

test('plain least squares: numbers to a hundred thousandth, covariance to a thousandth', () => {
  // So many degrees of freedom are a normal distribution.
  const { at, covariance } = fitWidths(FIXTURE.widths, 1e9);
  for (const [i, value] of FIXTURE.plain.entries()) expect(Math.abs(at[i] - value)).toBeLessThan(1e-5);
  for (const [i, row] of FIXTURE.covariance.entries()) {
    for (const [j, value] of row.entries()) expect(Math.abs(covariance[i][j] / value - 1)).toBeLessThan(1e-3);
  }
});

test('with a misread width, by Cauchy’s distribution: one degree of freedom', () => {
  const { at } = fitWidths(FIXTURE.misread, 1);
  for (const [i, value] of FIXTURE.cauchy.entries()) expect(Math.abs(at[i] - value)).toBeLessThan(2e-4);
});
