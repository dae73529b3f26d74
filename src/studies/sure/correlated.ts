/**
 * Lower triangle of a covariance matrix, `C = L Lᵀ` (Cholesky). Directions that are known exactly get nothing instead of an error, so a
 * matrix that has lost rank to rounding still serves.
 */
export function lowerTriangle(matrix: readonly (readonly number[])[]): number[][] {
  const n = matrix.length;
  const lower = Array.from({ length: n }, () => new Array<number>(n).fill(0));
  for (let i = 0; i < n; i++) {
    for (let j = 0; j <= i; j++) {
      let sum = matrix[i][j];
      for (let k = 0; k < j; k++) sum -= lower[i][k] * lower[j][k];
      if (i === j) lower[i][i] = Math.sqrt(Math.max(0, sum));
      else lower[i][j] = lower[j][j] > 1e-12 ? sum / lower[j][j] : 0;
    }
  }
  return lower;
}

/** One draw with that covariance from independent standard normal numbers. */
export const correlated = (lower: readonly (readonly number[])[], normals: ArrayLike<number>): number[] =>
  lower.map((row, i) => row.reduce((sum, value, k) => (k <= i ? sum + value * normals[k] : sum), 0));
