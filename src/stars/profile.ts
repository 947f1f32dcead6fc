import type { Shape } from './windowed.js';

/**
 * How the light of a star falls off: P(q), P(0) = 1, with q = dᵀ S⁻¹ d the squared distance in units of the shape S,
 * scaled so that P falls to one half where a Gaussian of second moments S does.
 */
export interface Profile {
  /** Moffat's exponent (Moffat 1969, A&A 3, 455): (1 + c·q)^−β. Large: a Gaussian. */
  readonly beta: number;
  readonly c: number;
  /** P and dP/dq at q = 0, 1/perUnit, 2/perUnit, … */
  readonly values: Float64Array;
  readonly slopes: Float64Array;
}

/** Table steps for one unit of q. */
export const perUnit = 32;
const tableEnd = 64;

export function moffat(beta: number): Profile {
  const c = (Math.pow(2, 1 / beta) - 1) / (2 * Math.LN2);
  const n = tableEnd * perUnit + 2;
  const values = new Float64Array(n);
  const slopes = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    const base = 1 + (c * i) / perUnit;
    values[i] = Math.pow(base, -beta);
    slopes[i] = (-beta * c * values[i]!) / base;
  }
  return { beta, c, values, slopes };
}

/** Whole light of a star of peak 1: the integral of P over the plane, px². Needs β > 1. */
export function lightOf(profile: Profile, shape: Shape): number {
  const area = Math.PI * Math.sqrt(shape.xx * shape.yy - shape.xy * shape.xy);
  return area / (profile.c * (profile.beta - 1));
}

/** The frame's common star: its width, elongation, direction and profile. */
export interface StarModel {
  readonly shape: Shape;
  readonly profile: Profile;
}
