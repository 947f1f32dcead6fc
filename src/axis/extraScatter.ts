import { type JointFit, leftOver } from './jointFit.js';
import type { Sightings } from './sightings.js';

/** Mean of q / (1 + q / 9) for q = x² + y² of two normal numbers of variance one: the part of 2 that the Cauchy loss leaves. */
const MEAN_BOUNDED = 1.441;
const MOST_STEPS = 30;
const LEAST_LEFT = 0.05;

/**
 * Variance (pixels², each coordinate) of sightings beyond the stars' sigmas: stars that sway in the air independently (Lindegren 1980, A&A
 * 89, 41), images that are not round. The maximum of the likelihood of the fit's residuals, robust against mistakes; bright stars, with the
 * least photon noise, say most. Zero where there is none.
 *
 * @param size number of unknowns that the fit has taken out of the residuals
 */
export function extraScatter(sightings: Sightings, { residuals2, shown }: JointFit, size: number): number {
  const { first, sigma, seen, count } = sightings;
  const kept = 1 - Math.min(0.9, size / (2 * count));
  const left = new Float64Array(count), variances = new Float64Array(count);
  for (let g = 0; g < sigma.length; g++) {
    const share = kept * leftOver(shown[g]!, first[g + 1]! - first[g]!);
    for (let n = first[g]!; n < first[g + 1]!; n++) {
      left[n] = share;
      variances[n] = seen[3 * n + 2]!;
    }
  }
  return likeliestExtra(residuals2, variances, left);
}

/**
 * The same for one frame alone.
 *
 * @param residuals distances from the fitted positions of the stars, pixels
 * @param sigma stated error of each star in each coordinate, with its catalogue's
 */
export function extraScatterOfFrame(residuals: Float64Array, sigma: Float64Array): number {
  const kept = 1 - Math.min(0.9, POSE_UNKNOWNS / (2 * sigma.length));
  return likeliestExtra(residuals.map((r) => r * r), sigma.map((s) => s * s), new Float64Array(sigma.length).fill(kept));
}

const POSE_UNKNOWNS = 3;

/** @param left share of each variance that is left in the residual */
function likeliestExtra(residuals2: Float64Array, variances: Float64Array, left: Float64Array): number {
  // Proportional to the derivative of the log-likelihood with respect to the extra variance.
  const slope = (extra: number): number => {
    let sum = 0;
    for (let n = 0; n < residuals2.length; n++) {
      // A star's only sighting is useful only through its catalogue error.
      if (!(left[n]! > LEAST_LEFT) || !(residuals2[n]! >= 0)) continue;
      const variance = variances[n]! + extra;
      const q = residuals2[n]! / (variance * left[n]!);
      sum += (left[n]! * (q / (1 + q / 9) - MEAN_BOUNDED)) / variance;
    }
    return sum;
  };
  if (!(slope(0) > 0)) return 0;
  let low = 0, high = 1e-4;
  while (slope(high) > 0 && high < 1e4) {
    low = high;
    high *= 4;
  }
  for (let step = 0; step < MOST_STEPS && high - low > 0.01 * high; step++) {
    const middle = (low + high) / 2;
    if (slope(middle) > 0) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

/** The same sightings with this much more variance. */
export function withExtraScatter(sightings: Sightings, extra: number): Sightings {
  if (extra === 0) return sightings;
  const seen = sightings.seen.slice();
  for (let n = 0; n < sightings.count; n++) seen[3 * n + 2]! += extra;
  return { ...sightings, seen };
}
