import { apply, inverse } from '../geometry/rotation.js';
import type { Vector } from '../geometry/vector.js';
import { PROJECTION, project } from '../identify/projection.js';
import type { JointFit } from './jointFit.js';
import type { Sightings } from './sightings.js';

/** How the errors of one kind of stars are divided. */
export interface ErrorShare {
  /** The variance common to the frames of a star beyond its catalogue's error, as a share of that from the star's own sigma; ≥ 0. */
  readonly shared: number;
  /** The variance of single frames, likewise; 0 to 1. */
  readonly own: number;
}

/** With fewer stars seen in two frames or more than this, no common part is estimated. */
const FEWEST = 12;
/** Residuals of more sigmas than this are mistakes, not errors. */
const MISTAKE = 6;
/** A result must differ from none by this many of its sigmas. */
const CLEAR = 3;
const LEAST_OWN = 0.05;
/** Errors exactly as stated in the star lists. */
export const NOTHING_SHARED: ErrorShare = { shared: 0, own: 1 };

/**
 * How much of the stars' errors is common to their frames: a companion in the same pixel shifts a star on the sky equally in all frames,
 * like an error of the catalogue. Counted as errors of single frames these would make frames turned by little look far worse than they are.
 * From the products and the differences of a star's deviations in different frames; of blended stars and of the others separately.
 *
 * @returns for clear stars, then for blended ones
 */
export function sharedErrors(sightings: Sightings, fit: JointFit): readonly [ErrorShare, ErrorShare] {
  const deviations = measureDeviations(sightings, fit);
  return [share(sightings, deviations, 0, fit.poses.length), share(sightings, deviations, 1, fit.poses.length)];
}

/** The same sightings with errors divided like that. `focalPixels`: of the lens, to convert pixels to angles on the sky. */
export function withSharedErrors(sightings: Sightings, shares: readonly [ErrorShare, ErrorShare], focalPixels: number): Sightings {
  const seen = sightings.seen.slice();
  const sigma = sightings.sigma.slice();
  for (let g = 0; g < sigma.length; g++) {
    const { shared, own } = shares[sightings.blended[g] as 0 | 1];
    const [from, to] = [sightings.first[g]!, sightings.first[g + 1]!];
    let variance = 0;
    for (let k = from; k < to; k++) {
      variance += seen[3 * k + 2]! / (to - from);
      seen[3 * k + 2]! *= own;
    }
    sigma[g] = Math.sqrt(sigma[g]! ** 2 + (shared * variance) / focalPixels ** 2);
  }
  return { ...sightings, sigma, seen };
}

/** Of each sighting: deviation toward the pole and across, radians, and the variance its own sigma gives; NaN for mistakes. */
function measureDeviations(sightings: Sightings, fit: JointFit): Float64Array {
  const { vectors, seen } = sightings;
  const toCamera = fit.poses.map(inverse);
  const p = new Float64Array(PROJECTION.length);
  const out = new Float64Array(3 * sightings.count).fill(NaN);
  for (let g = 0; g < sightings.sigma.length; g++) {
    for (let k = sightings.first[g]!; k < sightings.first[g + 1]!; k++) {
      const turn = toCamera[sightings.frame[k]!]!;
      const inCamera = (at: number): Vector => apply(turn, [vectors[9 * k + at]!, vectors[9 * k + at + 1]!, vectors[9 * k + at + 2]!]);
      const [star, toPole, across] = [inCamera(0), inCamera(3), inCamera(6)];
      if (!project(fit.lens, star[0], star[1], star[2], p)) continue;
      const dx = seen[3 * k]! - p[0]!;
      const dy = seen[3 * k + 1]! - p[1]!;
      const [xa, xb, ya, yb] = [along(p, 2, toPole), along(p, 2, across), along(p, 5, toPole), along(p, 5, across)];
      const determinant = xa * yb - xb * ya;
      const area = Math.abs(determinant);
      if (!(dx * dx + dy * dy < MISTAKE ** 2 * (seen[3 * k + 2]! + sightings.sigma[g]! ** 2 * area))) continue;
      out[3 * k] = (yb * dx - xb * dy) / determinant;
      out[3 * k + 1] = (xa * dy - ya * dx) / determinant;
      out[3 * k + 2] = seen[3 * k + 2]! / area;
    }
  }
  return out;
}

function share(sightings: Sightings, deviations: Float64Array, blended: 0 | 1, frames: number): ErrorShare {
  const products: number[] = [];
  const spreads: number[] = [];
  let freedom = 0;
  for (let g = 0; g < sightings.sigma.length; g++) {
    if (sightings.blended[g] !== blended) continue;
    let [n, a, b, squares, expected] = [0, 0, 0, 0, 0];
    for (let k = sightings.first[g]!; k < sightings.first[g + 1]!; k++) {
      const u = deviations[3 * k]!, v = deviations[3 * k + 1]!;
      if (u !== u) continue;
      n++;
      a += u;
      b += v;
      squares += u * u + v * v;
      expected += deviations[3 * k + 2]!;
    }
    if (n < 2) continue;
    products.push(((a * a + b * b - squares) / (2 * n * (n - 1)) - sightings.sigma[g]! ** 2) / (expected / n));
    spreads.push((squares - (a * a + b * b) / n) / (2 * (n - 1)) / (expected / n));
    freedom += 2 * (n - 1);
  }
  if (products.length < FEWEST) return NOTHING_SHARED;
  // The fit has taken three degrees of freedom for each frame but the first out of the differences.
  const fitted = 3 * (frames - 1);
  const product = meanOf(products);
  const spread = meanOf(spreads);
  const own = freedom > 2 * fitted ? ((spread.mean + spread.sigma) * freedom) / (freedom - fitted) : 1;
  // The error by chance of the mean of these squares, which is one where the lists are right.
  const chance = Math.sqrt(2 / freedom);
  const found = {
    shared: product.mean > CLEAR * product.sigma ? product.mean : 0,
    own: spread.mean + CLEAR * Math.max(chance, spread.sigma) < 1 && own < 1 ? Math.max(LEAST_OWN, own) : 1,
  };
  return found.shared === 0 && found.own === 1 ? NOTHING_SHARED : found;
}

function meanOf(values: readonly number[]): { mean: number; sigma: number } {
  const mean = values.reduce((sum, v) => sum + v, 0) / values.length;
  const variance = values.reduce((sum, v) => sum + (v - mean) ** 2, 0) / (values.length - 1);
  return { mean, sigma: Math.sqrt(variance / values.length) };
}

function along(p: Float64Array, at: number, v: Vector): number {
  return p[at]! * v[0] + p[at + 1]! * v[1] + p[at + 2]! * v[2];
}
