/** A symmetric 2 by 2 matrix, row by row. */
export type Matrix2 = readonly [number, number, number, number];

/** Natural logarithm of the density of a normal distribution in two dimensions, mean zero. NaN where the covariance is singular. */
export function logDensity(x: number, y: number, [a, b, , d]: Matrix2): number {
  const determinant = a * d - b * b;
  const square = (d * x * x - 2 * b * x * y + a * y * y) / determinant;
  return -0.5 * (square + Math.log(determinant)) - Math.log(2 * Math.PI);
}

/** The squared length of (x, y) in units of the covariance: chi-squared of two degrees of freedom. */
export function mahalanobis(x: number, y: number, [a, b, , d]: Matrix2): number {
  return (d * x * x - 2 * b * x * y + a * y * y) / (a * d - b * b);
}

/** log Σ exp of the values; -∞ for none. */
export function logSum(values: readonly number[]): number {
  const most = Math.max(...values);
  return most === -Infinity ? most : most + Math.log(values.reduce((sum, v) => sum + Math.exp(v - most), 0));
}
