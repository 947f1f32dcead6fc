import type { Vector } from '../geometry/vector.js';
import type { Rotation } from '../geometry/rotation.js';
import { ACCEPTED_ODDS, logChoices, logLikelihoodRatio } from './chanceOdds.js';
import { fitPose, type Matches } from './fitPose.js';
import { type Lens, toDirection, toPixel } from './lens.js';
import type { StarCap } from './starCap.js';

/** Detections as the search needs them, brightest first. */
export interface Spots {
  readonly count: number;
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly sigma: Float64Array;
  readonly width: number;
  readonly height: number;
  ray(lens: Lens, i: number): Vector;
}

export function makeSpots(
  detections: readonly { readonly x: number; readonly y: number; readonly sigma: number }[], width: number, height: number,
): Spots {
  const x = Float64Array.from(detections, (d) => d.x);
  const y = Float64Array.from(detections, (d) => d.y);
  return {
    count: detections.length, x, y, width, height,
    sigma: Float64Array.from(detections, (d) => d.sigma),
    ray: (lens, i) => toDirection(lens, x[i]!, y[i]!),
  };
}

/** A pose that chance does not explain. */
export interface ConfirmedPose {
  readonly pose: Rotation;
  readonly lens: Lens;
  /** Natural logarithm of the odds against chance. */
  readonly logOdds: number;
  /** Cap numbers of stars matched, and the spot of each. */
  readonly stars: Int32Array;
  readonly spots: Int32Array;
}

export interface ConfirmOptions {
  readonly fitFocal: boolean;
  readonly solidAngle: number;
  /** Direction around which the pose is best known at first. */
  readonly near: ArrayLike<number>;
}

/** Spots and stars that take part in the judgement. */
const MOST_SPOTS = 120;
const FULL_LOG_FOCAL_RANGE = Math.log(175);
/** Scatter that lens, air and catalogue leave in the best case, pixels. */
const SMALLEST_SIGMA = 0.35;
const CURVED_FIELD = 0.12;

/**
 * Refines a rough pose by growing the circle in which stars are matched, and returns it if the odds against chance
 * exceed ACCEPTED_ODDS, otherwise null.
 */
export function confirmPose(spots: Spots, cap: StarCap, pose0: Rotation, lens0: Lens, options: ConfirmOptions): ConfirmedPose | null {
  const width = Math.max(spots.width, spots.height);
  const halfDiagonal = Math.hypot(spots.width, spots.height) / 2;
  const fieldRadius = Math.atan(halfDiagonal / lens0.focalPixels);
  const curved = fieldRadius > CURVED_FIELD;
  const used = Math.min(spots.count, MOST_SPOTS);
  const field = starsInField(cap, pose0, fieldRadius * 1.1, Math.ceil(used * 1.3));
  let pose = pose0;
  let lens = lens0;
  let radius = Math.max(4, (curved ? 0.015 : 0.008) * width);
  let pairs: Pairs | null = null;
  const reaches = curved ? [0.45, 0.7, 1, 1, 1] : [0.6, 1, 1, 1];
  let terms = 0;
  for (const reach of reaches) {
    const cosReach = reach < 1 ? Math.cos(reach * 2 * fieldRadius * 0.6) : -1;
    pairs = matchPairs(spots, used, cap, field, pose, lens, radius, options.near, cosReach);
    if (pairs.count < 4) return null;
    const matches = toMatches(spots, cap, pairs);
    if (options.fitFocal && curved && reach === 1 && pairs.count >= 10) terms = 1;
    const fit = fitPose(matches, pose, lens, {
      focal: options.fitFocal && pairs.count >= 4, radialTerms: terms, robust: 3, iterations: 4,
    });
    if (!fit || fit.lens.focalPixels < 0.7 * lens0.focalPixels || fit.lens.focalPixels > 1.4 * lens0.focalPixels) return null;
    pose = fit.pose;
    lens = fit.lens;
    radius = Math.min(radius, Math.max(2, 4 * median(fit.residuals)));
  }
  pairs = matchPairs(spots, used, cap, field, pose, lens, radius, options.near, -1);
  if (pairs.count < 4) return null;
  // Judge with the scatter seen: the median distance of a two-dimensional normal distribution is 1.177 sigma.
  const sigma = Math.max(SMALLEST_SIGMA, median(pairs.distances.subarray(0, pairs.count)) / 1.177);
  const judged = logLikelihoodRatio({
    detections: used, predicted: pairs.predicted, distances: pairs.distances.subarray(0, pairs.count),
    sigma, width: spots.width, height: spots.height,
  });
  const choices = logChoices({
    solidAngle: options.solidAngle, focalPixels: lens.focalPixels,
    logFocalRange: options.fitFocal ? FULL_LOG_FOCAL_RANGE : 0, mirrorKnown: !options.fitFocal, radialTerms: terms,
  }, spots.width, spots.height, sigma);
  const logOdds = judged - choices;
  if (logOdds < Math.log(ACCEPTED_ODDS)) return null;
  return { pose, lens, logOdds, stars: pairs.stars.slice(0, pairs.count), spots: pairs.spots.slice(0, pairs.count) };
}

/** Numbers of the brightest `most` cap stars within `radius` of the optical axis. */
export function starsInField(cap: StarCap, pose: Rotation, radius: number, most: number): Int32Array {
  const out = new Int32Array(Math.min(most, cap.count));
  const limit = Math.cos(Math.min(radius, Math.PI / 2.2));
  const zx = pose[2], zy = pose[5], zz = pose[8];
  const d = cap.directions;
  let n = 0;
  for (let i = 0; i < cap.count && n < out.length; i++) {
    if (d[3 * i]! * zx + d[3 * i + 1]! * zy + d[3 * i + 2]! * zz > limit) out[n++] = i;
  }
  return out.subarray(0, n);
}

/** Star-spot pairs, one to one. */
interface Pairs {
  count: number;
  /** Field stars whose place is inside the frame (and within reach). */
  predicted: number;
  stars: Int32Array;
  spots: Int32Array;
  distances: Float64Array;
}

function matchPairs(
  spots: Spots, used: number, cap: StarCap, field: Int32Array, pose: Rotation, lens: Lens, radius: number,
  near: ArrayLike<number>, cosReach: number,
): Pairs {
  const owner = new Int32Array(used).fill(-1);
  const pairs: Pairs = {
    count: 0, predicted: 0,
    stars: new Int32Array(field.length), spots: new Int32Array(field.length), distances: new Float64Array(field.length),
  };
  const d = cap.directions;
  for (let n = 0; n < field.length; n++) {
    const s = field[n]!;
    const x = d[3 * s]!, y = d[3 * s + 1]!, z = d[3 * s + 2]!;
    if (x * near[0]! + y * near[1]! + z * near[2]! < cosReach) continue;
    const p = toPixel(lens, [
      pose[0] * x + pose[3] * y + pose[6] * z,
      pose[1] * x + pose[4] * y + pose[7] * z,
      pose[2] * x + pose[5] * y + pose[8] * z,
    ]);
    if (!p || p.x < 0 || p.y < 0 || p.x > spots.width - 1 || p.y > spots.height - 1) continue;
    pairs.predicted++;
    let best = radius * radius;
    let spot = -1;
    for (let i = 0; i < used; i++) {
      const dx = spots.x[i]! - p.x;
      const dy = spots.y[i]! - p.y;
      const d2 = dx * dx + dy * dy;
      if (d2 < best) { best = d2; spot = i; }
    }
    if (spot < 0) continue;
    const distance = Math.sqrt(best);
    const other = owner[spot]!;
    // A spot goes to the brighter star unless the fainter one is clearly nearer.
    if (other >= 0) {
      if (distance < 0.5 * pairs.distances[other]!) {
        pairs.stars[other] = s;
        pairs.distances[other] = distance;
      }
      continue;
    }
    owner[spot] = pairs.count;
    pairs.stars[pairs.count] = s;
    pairs.spots[pairs.count] = spot;
    pairs.distances[pairs.count] = distance;
    pairs.count++;
  }
  return pairs;
}

function toMatches(spots: Spots, cap: StarCap, pairs: Pairs): Matches {
  const directions = new Float64Array(3 * pairs.count);
  const x = new Float64Array(pairs.count);
  const y = new Float64Array(pairs.count);
  for (let n = 0; n < pairs.count; n++) {
    directions.set(cap.directions.subarray(3 * pairs.stars[n]!, 3 * pairs.stars[n]! + 3), 3 * n);
    x[n] = spots.x[pairs.spots[n]!]!;
    y[n] = spots.y[pairs.spots[n]!]!;
  }
  // All alike: which pairs are true is still open, and a bright wrong one must not drag the fit.
  return { count: pairs.count, directions, x, y, sigma: new Float64Array(pairs.count).fill(1) };
}

function median(values: Float64Array): number {
  const sorted = values.slice().sort();
  return sorted[sorted.length >> 1] ?? 0;
}
