import type { JointFit } from './jointFit.js';
import type { Sightings } from './sightings.js';
import { leftOver } from './starPass.js';

/**
 * Variance (pixels², each coordinate) of sightings beyond the stars' sigmas: stars that sway in the air independently (Lindegren 1980, A&A
 * 89, 41), images that are not round.
 */
export interface ExtraScatter {
  /** In the middle of the picture. */
  readonly middle: number;
  /** What is added in its corner; it grows with the square of the distance from the middle. Zero where the data do not show it. */
  readonly corner: number;
  /** Factor of each frame. */
  readonly frames: readonly number[];
}

/** Width and height of the pictures, pixels. */
export interface PictureSize {
  readonly width: number;
  readonly height: number;
}

/** Mean of q / (1 + q / 9) for q = x² + y² of two normal numbers of variance one: the part of 2 that the Cauchy loss leaves. */
const MEAN_BOUNDED = 1.441;
const MOST_STEPS = 30;
const LEAST_LEFT = 0.05;
/** The likelihood must grow by this (twice its logarithm) for a scatter that grows outward: by chance once in 2000. */
const WORTH = 12;
/** Rounds of middle and corner in turn. */
const ROUNDS = 3;
/** What is expected beforehand counts as so many sightings: the air differs from night to night by a factor of two or so. */
const EXPECTED_WORTH = 4;
/** That all frames are alike counts as so many sightings of each. */
const ALIKE_WORTH = 40;

/**
 * The extra scatter under which the fit's residuals are likeliest, robust against mistakes; bright stars, with the least photon noise, say
 * most.
 *
 * @param size number of unknowns that the fit has taken out of the residuals
 * @param expected variance in the middle that is expected beforehand (pixels²), null where nothing is: few stars hardly say otherwise
 */
export function extraScatter(
  sightings: Sightings, { residuals2, shown, poses }: JointFit, size: number, picture: PictureSize, expected: number | null,
): ExtraScatter {
  const { first, sigma, seen, frame, count } = sightings;
  const kept = 1 - Math.min(0.9, size / (2 * count));
  const left = new Float64Array(count), stated = new Float64Array(count), outward = new Float64Array(count);
  for (let g = 0; g < sigma.length; g++) {
    const share = kept * leftOver(shown[g]!, first[g + 1]! - first[g]!);
    for (let n = first[g]!; n < first[g + 1]!; n++) {
      left[n] = share;
      stated[n] = seen[3 * n + 2]!;
      outward[n] = outwardness(seen[3 * n]!, seen[3 * n + 1]!, picture);
    }
  }
  const seenThere: Residuals = { residuals2, left, stated };
  const even = new Float64Array(count).fill(1);
  const before = expected === null ? null : { worth: EXPECTED_WORTH, base: meanOf(stated), each: 1, at: expected };
  const alone = likeliest(seenThere, stated, even, before);
  let [middle, corner] = [alone, 0];
  for (let round = 0; round < ROUNDS; round++) {
    corner = likeliest(seenThere, stated.map((s) => s + middle), outward, null);
    if (corner === 0) break;
    middle = likeliest(seenThere, stated.map((s, n) => s + corner * outward[n]!), even, before);
  }
  const variances = (m: number, c: number): Float64Array => stated.map((s, n) => s + m + c * outward[n]!);
  const gain = likelihood(seenThere, variances(middle, corner)) - likelihood(seenThere, variances(alone, 0));
  if (!(gain > WORTH)) [middle, corner] = [alone, 0];
  const each = outward.map((o) => middle + corner * o);
  const frames = poses.map((_, f) => (middle + corner === 0 ? 1 : frameFactor(seenThere, each, frame, f)));
  return { middle, corner, frames };
}

/** How much more than all together one frame scatters. */
function frameFactor({ residuals2, left, stated }: Residuals, each: Float64Array, frame: Int32Array, wanted: number): number {
  const its = <T extends Float64Array>(values: T): Float64Array => values.filter((_, n) => frame[n] === wanted);
  const [base, there] = [its(stated), its(each)];
  return likeliest({ residuals2: its(residuals2), left: its(left), stated: base }, base, there, {
    worth: ALIKE_WORTH, base: meanOf(base), each: meanOf(there), at: 1,
  });
}

/** Square of the distance from the middle of the picture, 1 in its corners. */
function outwardness(x: number, y: number, { width, height }: PictureSize): number {
  return ((2 * x - width) ** 2 + (2 * y - height) ** 2) / (width ** 2 + height ** 2);
}

/**
 * The same for one frame alone, as if even over the picture.
 *
 * @param residuals distances from the fitted positions of the stars, pixels
 * @param sigma stated error of each star in each coordinate, with its catalogue's
 * @param expected as for {@link extraScatter}
 */
export function extraScatterOfFrame(residuals: Float64Array, sigma: Float64Array, expected: number | null): number {
  const kept = 1 - Math.min(0.9, POSE_UNKNOWNS / (2 * sigma.length));
  const stated = sigma.map((s) => s * s);
  const left = new Float64Array(sigma.length).fill(kept);
  const before = expected === null ? null : { worth: EXPECTED_WORTH, base: meanOf(stated), each: 1, at: expected };
  return likeliest({ residuals2: residuals.map((r) => r * r), left, stated }, stated, new Float64Array(sigma.length).fill(1), before);
}

const POSE_UNKNOWNS = 3;

interface Residuals {
  /** Pixels²; NaN where there is none. */
  readonly residuals2: Float64Array;
  /** Share of each variance that is left in the residual. */
  readonly left: Float64Array;
  /** Variances as the star lists state them, pixels². */
  readonly stated: Float64Array;
}

/** What is thought of an extra before the residuals are seen: `worth` sightings of variance base + at · each. */
interface Beforehand {
  readonly worth: number;
  readonly base: number;
  readonly each: number;
  readonly at: number;
}

/** The factor e ≥ 0 for which variances base + e · each make the residuals likeliest. */
function likeliest({ residuals2, left }: Residuals, base: Float64Array, each: Float64Array, before: Beforehand | null): number {
  // Proportional to the derivative of the log-likelihood with respect to the factor.
  const slope = (factor: number): number => {
    let sum = 0;
    for (let n = 0; n < residuals2.length; n++) {
      // A star's only sighting is useful only through its catalogue error.
      if (!(left[n]! > LEAST_LEFT) || !(residuals2[n]! >= 0)) continue;
      const variance = base[n]! + factor * each[n]!;
      const q = residuals2[n]! / (variance * left[n]!);
      sum += (left[n]! * (q / (1 + q / 9) - MEAN_BOUNDED) * each[n]!) / variance;
    }
    if (!before) return sum;
    const variance = before.base + factor * before.each;
    const thought = before.base + before.at * before.each;
    return sum + (before.worth * MEAN_BOUNDED * (thought / variance - 1) * before.each) / variance;
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

/** Twice the logarithm of the likelihood whose derivative is that of {@link likeliest}. */
function likelihood({ residuals2, left }: Residuals, variances: Float64Array): number {
  let sum = 0;
  for (let n = 0; n < residuals2.length; n++) {
    if (!(left[n]! > LEAST_LEFT) || !(residuals2[n]! >= 0)) continue;
    const q = residuals2[n]! / (variances[n]! * left[n]!);
    sum -= left[n]! * (9 * Math.log1p(q / 9) + MEAN_BOUNDED * Math.log(variances[n]!));
  }
  return sum;
}

function meanOf(values: Float64Array): number {
  return values.reduce((sum, v) => sum + v, 0) / Math.max(1, values.length);
}

/** The same sightings with this much more variance. */
export function withExtraScatter(sightings: Sightings, { middle, corner, frames }: ExtraScatter, picture: PictureSize): Sightings {
  if (middle + corner === 0) return sightings;
  const seen = sightings.seen.slice();
  for (let n = 0; n < sightings.count; n++) {
    const there = corner === 0 ? middle : middle + corner * outwardness(seen[3 * n]!, seen[3 * n + 1]!, picture);
    seen[3 * n + 2]! += (frames[sightings.frame[n]!] ?? 1) * there;
  }
  return { ...sightings, seen };
}
