import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { invertSymmetric, solveSymmetric } from '../../src/numeric/normalEquations.js';

/** A·Aᵀ + 0.1, its rows and columns scaled by up to a million: positive definite, unknowns of very different units. */
const system = fc.integer({ min: 1, max: 9 }).chain((size) => fc.tuple(
  fc.constant(size),
  fc.array(fc.double({ min: -1, max: 1, noNaN: true }), { minLength: size * size, maxLength: size * size }),
  fc.array(fc.double({ min: -6, max: 6, noNaN: true }), { minLength: size, maxLength: size }),
  fc.array(fc.double({ min: -5, max: 5, noNaN: true }), { minLength: size, maxLength: size }),
)).map(([size, a, powers, solution]) => {
  const full = new Float64Array(size * size);
  for (let r = 0; r < size; r++) {
    for (let k = 0; k < size; k++) {
      let sum = r === k ? 0.1 : 0;
      for (let m = 0; m < size; m++) sum += a[r * size + m]! * a[k * size + m]!;
      full[r * size + k] = sum * 10 ** powers[r]! * 10 ** powers[k]!;
    }
  }
  const x = Float64Array.from(solution, (s, r) => s / 10 ** powers[r]!);
  const right = Float64Array.from(x, (_, r) => x.reduce((sum, v, k) => sum + full[r * size + k]! * v, 0));
  const upper = full.map((v, i) => (i % size < Math.floor(i / size) ? NaN : v));
  return { size, full, upper, x, right, powers };
});

describe('normal equations', () => {
  it('solves for what the right side was made from, whatever the units of the unknowns', () => {
    fc.assert(fc.property(system, ({ size, upper, x, right, powers }) => {
      const solved = solveSymmetric(upper, right, size)!;
      for (let r = 0; r < size; r++) expect(Math.abs(solved[r]! - x[r]!) * 10 ** powers[r]!).toBeLessThan(1e-9);
    }));
  });

  it('inverts: the product with the matrix is one', () => {
    fc.assert(fc.property(system, ({ size, full, upper, powers }) => {
      const inverse = invertSymmetric(upper, size)!;
      for (let r = 0; r < size; r++) {
        for (let k = 0; k < size; k++) {
          let sum = 0;
          for (let m = 0; m < size; m++) sum += full[r * size + m]! * inverse[m * size + k]!;
          expect(Math.abs(sum - (r === k ? 1 : 0)) * 10 ** (powers[k]! - powers[r]!)).toBeLessThan(1e-9);
        }
      }
    }));
  });

  it('refuses what has no single solution', () => {
    expect(solveSymmetric(Float64Array.of(1, 2, 0, 4), Float64Array.of(1, 1), 2)).toBeNull();
    expect(solveSymmetric(Float64Array.of(1, 0, 0, -1), Float64Array.of(1, 1), 2)).toBeNull();
    expect(invertSymmetric(Float64Array.of(0), 1)).toBeNull();
    expect(invertSymmetric(Float64Array.of(1, NaN, 0, 1), 2)).toBeNull();
    expect(solveSymmetric(Float64Array.of(Infinity), Float64Array.of(1), 1)).toBeNull();
  });
});
