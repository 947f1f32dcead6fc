import { CholeskyDecomposition, Matrix } from 'ml-matrix';

/**
 * Solves a symmetric positive definite system, size by size, given by its upper triangle (row by row, the rest ignored).
 * Null where it is singular.
 */
export function solveSymmetric(upper: Float64Array, right: Float64Array, size: number): Float64Array | null {
  const scaled = decompose(upper, size);
  if (!scaled) return null;
  const b = new Matrix(size, 1);
  for (let r = 0; r < size; r++) b.set(r, 0, right[r]! * scaled.unit[r]!);
  const solution = scaled.decomposition.solve(b);
  const out = Float64Array.from(scaled.unit, (u, r) => solution.get(r, 0) * u);
  return out.every(Number.isFinite) ? out : null;
}

/** The inverse (size by size, all of it) of a symmetric positive definite matrix given by its upper triangle; null where it is singular. */
export function invertSymmetric(upper: Float64Array, size: number): Float64Array | null {
  const scaled = decompose(upper, size);
  if (!scaled) return null;
  const inverse = scaled.decomposition.solve(Matrix.eye(size, size));
  const out = new Float64Array(size * size);
  for (let r = 0; r < size; r++) {
    for (let k = 0; k < size; k++) out[r * size + k] = inverse.get(r, k) * scaled.unit[r]! * scaled.unit[k]!;
  }
  return out.every(Number.isFinite) ? out : null;
}

/** Scaled to a unit diagonal first: the unknowns differ in unit by many powers of ten. */
function decompose(upper: Float64Array, size: number): { unit: Float64Array; decomposition: CholeskyDecomposition } | null {
  const unit = new Float64Array(size);
  for (let r = 0; r < size; r++) {
    const d = upper[r * size + r]!;
    if (!(d > 0) || !Number.isFinite(d)) return null;
    unit[r] = 1 / Math.sqrt(d);
  }
  const a = new Matrix(size, size);
  for (let r = 0; r < size; r++) {
    for (let k = r; k < size; k++) {
      const value = upper[r * size + k]! * unit[r]! * unit[k]!;
      a.set(r, k, value);
      a.set(k, r, value);
    }
  }
  const decomposition = new CholeskyDecomposition(a);
  return decomposition.isPositiveDefinite() ? { unit, decomposition } : null;
}
