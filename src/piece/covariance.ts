import * as z from '../base/zod.ts';
import { number, text } from './fields.ts';

/** Numbers that a calibration knows together; more than a stack of eight coats has. */
const MOST = 64;

/**
 * What a calibration knows of the piece's numbers: the covariance of their natural logarithms, row by row. Names are those of
 * `studies/sure/parameters.ts`.
 */
export const covarianceSchema = z
  .strictObject({
    names: z.array(text).check(z.minLength(1), z.maxLength(MOST)),
    matrix: z.array(z.array(number(-100, 100))).check(z.maxLength(MOST)),
  })
  .check(
    z.refine(
      ({ names, matrix }) => matrix.length === names.length && matrix.every((row) => row.length === names.length),
      {
        error: 'a square matrix with a row for each name',
      },
    ),
    z.refine(
      ({ matrix }) =>
        matrix.every(
          (row, i) =>
            row[i] >= 0 &&
            row.every((value, j) => Math.abs(value - (matrix[j]?.[i] ?? Number.NaN)) <= 1e-9 * (1 + Math.abs(value))),
        ),
      {
        error: 'a symmetric matrix with nothing negative on its diagonal',
      },
    ),
  );
export type Covariance = z.infer<typeof covarianceSchema>;
