/**
 * Solves a symmetric positive definite system, size by size, given by its upper triangle (row by row, the rest ignored).
 * Null where it is singular.
 */
export function solveSymmetric(upper: Float64Array, right: Float64Array, size: number): Float64Array | null {
  const scaled = decompose(upper, size);
  if (!scaled) return null;
  const { unit, factor } = scaled;
  const out = new Float64Array(size);
  for (let r = 0; r < size; r++) out[r] = right[r]! * unit[r]!;
  substitute(factor, out, size);
  for (let r = 0; r < size; r++) {
    out[r]! *= unit[r]!;
    if (!Number.isFinite(out[r]!)) return null;
  }
  return out;
}

/** The inverse (size by size, all of it) of a symmetric positive definite matrix given by its upper triangle; null where it is singular. */
export function invertSymmetric(upper: Float64Array, size: number): Float64Array | null {
  const scaled = decompose(upper, size);
  if (!scaled) return null;
  const { unit, factor } = scaled;
  const out = new Float64Array(size * size);
  const column = new Float64Array(size);
  for (let k = 0; k < size; k++) {
    column.fill(0);
    column[k] = 1;
    substitute(factor, column, size);
    for (let r = 0; r < size; r++) {
      const value = column[r]! * unit[r]! * unit[k]!;
      if (!Number.isFinite(value)) return null;
      out[r * size + k] = value;
    }
  }
  return out;
}

/** With a unit diagonal, a pivot below this is rounding, nothing else. */
const SMALLEST_PIVOT = 1e-14;

/**
 * Cholesky's L, row by row, of the matrix scaled to a unit diagonal (`unit` holds the factors): the unknowns differ in
 * unit by many powers of ten.
 */
function decompose(upper: Float64Array, size: number): { unit: Float64Array; factor: Float64Array } | null {
  const unit = new Float64Array(size);
  for (let r = 0; r < size; r++) {
    const d = upper[r * size + r]!;
    if (!(d > 0) || !Number.isFinite(d)) return null;
    unit[r] = 1 / Math.sqrt(d);
  }
  const factor = new Float64Array(size * size);
  for (let r = 0; r < size; r++) {
    for (let k = 0; k <= r; k++) {
      let sum = upper[k * size + r]! * unit[k]! * unit[r]!;
      for (let m = 0; m < k; m++) sum -= factor[r * size + m]! * factor[k * size + m]!;
      if (k < r) factor[r * size + k] = sum / factor[k * size + k]!;
      else if (sum > SMALLEST_PIVOT) factor[r * size + r] = Math.sqrt(sum);
      else return null;
    }
  }
  return { unit, factor };
}

/** Solves L·Lᵀ·x = b in place. */
function substitute(factor: Float64Array, b: Float64Array, size: number): void {
  for (let r = 0; r < size; r++) {
    let sum = b[r]!;
    for (let k = 0; k < r; k++) sum -= factor[r * size + k]! * b[k]!;
    b[r] = sum / factor[r * size + r]!;
  }
  for (let r = size - 1; r >= 0; r--) {
    let sum = b[r]!;
    for (let k = r + 1; k < size; k++) sum -= factor[k * size + r]! * b[k]!;
    b[r] = sum / factor[r * size + r]!;
  }
}
