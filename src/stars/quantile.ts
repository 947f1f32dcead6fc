/** Numbers to be rearranged. Whole numbers are faster before the code is compiled: until then each fraction is an object. */
export type Values = Float64Array | Int32Array;

/** Rearranges `a[from..to)` so that the element of rank k (absolute index) is at k; returns it. Hoare's selection. */
export function select(a: Values, from: number, to: number, k: number): number {
  let lo = from;
  let hi = to - 1;
  while (lo < hi) {
    const pivot = a[(lo + hi) >>> 1]!;
    let i = lo;
    let j = hi;
    while (i <= j) {
      while (a[i]! < pivot) i++;
      while (a[j]! > pivot) j--;
      if (i <= j) {
        const swap = a[i]!;
        a[i] = a[j]!;
        a[j] = swap;
        i++;
        j--;
      }
    }
    if (k <= j) hi = j;
    else if (k >= i) lo = i;
    else break;
  }
  return a[k]!;
}

/**
 * The quantile q (0..1) of `a[0..n)`, treating equal values as spread evenly over their step ("grouped" quantile),
 * so that the median of whole numbers is not itself whole. Rearranges `a`. NaN for n = 0.
 * `searched`: where the caller knows that `a[0..searched)` already holds the least of the values and q falls there.
 */
export function quantile(a: Values, n: number, q: number, searched = n): number {
  if (n === 0) return NaN;
  const k = Math.min(n - 1, Math.max(0, Math.floor(q * n)));
  const value = select(a, 0, Math.max(searched, k + 1), k);
  // After selection everything before k is ≤ value and everything after is ≥ value.
  let below = 0;
  let equal = 0;
  let previous = -Infinity;
  let next = Infinity;
  for (let i = 0; i < n; i++) {
    const v = a[i]!;
    if (v < value) {
      below++;
      if (v > previous) previous = v;
    } else if (v > value) {
      if (v < next) next = v;
    } else equal++;
  }
  if (equal === n) return value;
  // On an open side the step is taken to equal the other side's.
  const down = previous > -Infinity ? (value - previous) / 2 : (next - value) / 2;
  const up = next < Infinity ? (next - value) / 2 : down;
  const share = (q * n - below) / equal;
  return value - down + (down + up) * Math.min(1, Math.max(0, share));
}
