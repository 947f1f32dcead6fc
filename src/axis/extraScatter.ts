import { type JointFit, leftOver } from './jointFit.js';
import type { Sightings } from './sightings.js';

/** Mean of q / (1 + q / 9) for q = x² + y² of two normal numbers of variance one: what the Cauchy loss leaves of 2. */
const MEAN_BOUNDED = 1.441;
const MOST_STEPS = 30;

/**
 * Variance (pixels², each coordinate) that sightings have beyond what the stars' sigmas say: stars that sway in the air by themselves
 * (Lindegren 1980, A&A 89, 41), images that are not round. The maximum of the likelihood of the fit's residuals, mistakes held off;
 * bright stars, whose photons leave least, say most. Zero where there is none.
 *
 * @param size number of unknowns that the fit has taken out of the residuals
 */
export function extraScatter(sightings: Sightings, { residuals2, shown }: JointFit, size: number): number {
  const { first, sigma, seen, count } = sightings;
  const kept = 1 - Math.min(0.9, size / (2 * count));
  const left = new Float64Array(count);
  for (let g = 0; g < sigma.length; g++) {
    const share = leftOver(shown[g]!, first[g + 1]! - first[g]!);
    for (let n = first[g]!; n < first[g + 1]!; n++) left[n] = share;
  }
  // What the derivative of the logarithm of the likelihood by the extra variance is proportional to.
  const slope = (extra: number): number => {
    let sum = 0;
    for (let n = 0; n < count; n++) {
      // A star's only sighting tells nothing but through its catalogue error.
      if (!(left[n]! > 0.1) || !(residuals2[n]! >= 0)) continue;
      const variance = seen[3 * n + 2]! + extra;
      const q = residuals2[n]! / (variance * left[n]! * kept);
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
  for (let step = 0; step < MOST_STEPS && high - low > 1e-3 * high; step++) {
    const middle = (low + high) / 2;
    if (slope(middle) > 0) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

/** The same sightings with so much more variance. */
export function withExtraScatter(sightings: Sightings, extra: number): Sightings {
  if (extra === 0) return sightings;
  const seen = sightings.seen.slice();
  for (let n = 0; n < sightings.count; n++) seen[3 * n + 2]! += extra;
  return { ...sightings, seen };
}
