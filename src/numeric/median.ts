/** The middle of some numbers, of an even count the mean of the middle two; 0 of none. Leaves them as they are. */
export function median(values: ArrayLike<number>): number {
  const sorted = Float64Array.from(values).sort();
  const n = sorted.length;
  return n === 0 ? 0 : (sorted[(n - 1) >> 1]! + sorted[n >> 1]!) / 2;
}
