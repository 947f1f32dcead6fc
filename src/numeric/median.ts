/** The value in the middle of `values`, which stay as they are; the mean of the middle two of an even number; 0 of none. */
export function median(values: ArrayLike<number>): number {
  const sorted = Float64Array.from(values).sort();
  const n = sorted.length;
  return n === 0 ? 0 : (sorted[(n - 1) >> 1]! + sorted[n >> 1]!) / 2;
}
