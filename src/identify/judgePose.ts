import type { Rotation } from '../geometry/rotation.js';
import { acos } from '../geometry/angle.js';
import { logChoices, logLikelihoodRatio } from './chanceOdds.js';
import { fitPose, type Matches } from './fitPose.js';
import { median } from '../numeric/median.js';
import type { Lens } from './lens.js';
import { nearestPlace } from './placeGrid.js';
import { PROJECTION, project } from './projection.js';
import { MOST_SPOTS, type Spots } from './spots.js';
import type { StarCap } from './starCap.js';

/** A pose, refined, and its odds against chance. */
export interface JudgedPose {
  readonly pose: Rotation;
  readonly lens: Lens;
  /** Natural logarithm of the odds against chance. */
  readonly logOdds: number;
  /** Cap numbers of stars matched, and the spot of each. */
  readonly stars: Int32Array;
  readonly spots: Int32Array;
}

export interface JudgeOptions {
  readonly fitFocal: boolean;
  /** Solid angle in which the optical axis may point, steradians. */
  readonly solidAngle: number;
  /** Direction around which the pose is known best at first. */
  readonly near: ArrayLike<number>;
  /** Cap numbers, brightest first, of stars that include all of the field; null = take all of the cap. */
  readonly candidates: Int32Array | null;
}

/** Number of predicted stars for each spot used in the judgement. */
const STARS_PER_SPOT = 1.3;
/** The circle around a frame is larger than the frame by this at most. */
const CIRCLE_PER_FRAME = 3;
const FULL_LOG_FOCAL_RANGE = Math.log(175);
/** Scatter that lens, air and catalogue leave in the best case, pixels. */
const SMALLEST_SIGMA = 0.35;
/** Half diagonal of the field, radians, beyond which the pose is grown from the middle with more care. */
const CURVED_FIELD = 0.12;
/** Share of the stars that must be seen, and the likelihood ratio (logarithm), for a first count to be worth a fit. */
const SEEN = 0.35;
const WORTH_A_FIT = 3;

/**
 * Refines a rough pose by growing the circle in which stars are matched, and gives the odds against chance. Null where
 * the first matches are no better than chance's or the fit fails.
 */
export function judgePose(spots: Spots, cap: StarCap, pose0: Rotation, lens0: Lens, options: JudgeOptions): JudgedPose | null {
  const width = Math.max(spots.width, spots.height);
  const fieldRadius = Math.atan(Math.hypot(spots.width, spots.height) / 2 / lens0.focalPixels);
  const curved = fieldRadius > CURVED_FIELD;
  const used = Math.min(spots.count, MOST_SPOTS);
  const most = Math.ceil(used * STARS_PER_SPOT) + 4;
  const field = starsInField(cap, pose0, fieldRadius * 1.1, CIRCLE_PER_FRAME * most, options.candidates);
  let pose = pose0;
  let lens = lens0;
  let radius = Math.max(4, (curved ? 0.015 : 0.008) * width);
  const reaches = curved ? [0.45, 0.7, 1, 1, 1] : [0.6, 1, 1];
  let terms = 0;
  let first = true;
  const pairs = emptyPairs(Math.min(most, field.length));
  for (const reach of reaches) {
    const cosReach = reach < 1 ? Math.cos(reach * 2 * fieldRadius * 0.6) : -1;
    matchPairs(pairs, most, spots, cap, field, pose, lens, radius, options.near, cosReach);
    if (pairs.count < 4) return null;
    if (first && firstCount(pairs, used, radius, spots) < WORTH_A_FIT) return null;
    first = false;
    if (options.fitFocal && curved && reach === 1 && pairs.count >= 10) terms = 1;
    const fit = fitPose(toMatches(spots, cap, pairs), pose, lens, {
      focal: options.fitFocal, radialTerms: terms, robust: 3, iterations: 3,
    });
    if (!fit || fit.lens.focalPixels < 0.7 * lens0.focalPixels || fit.lens.focalPixels > 1.4 * lens0.focalPixels) return null;
    pose = fit.pose;
    lens = fit.lens;
    radius = Math.min(radius, Math.max(2, 4 * median(fit.residuals)));
  }
  matchPairs(pairs, most, spots, cap, field, pose, lens, radius, options.near, -1);
  if (pairs.count < 4) return null;
  const distances = pairs.distances.subarray(0, pairs.count);
  // Use the measured scatter: the median distance of a two-dimensional normal distribution is 1.177 sigma.
  const sigma = Math.max(SMALLEST_SIGMA, median(distances) / 1.177);
  const likelihood = logLikelihoodRatio({
    detections: used, predicted: pairs.predicted, distances, sigma, width: spots.width, height: spots.height,
  });
  const choices = logChoices({
    solidAngle: options.solidAngle, focalPixels: lens.focalPixels,
    logFocalRange: options.fitFocal ? FULL_LOG_FOCAL_RANGE : 0, mirrorKnown: !options.fitFocal, radialTerms: terms,
  }, spots.width, spots.height, sigma);
  return { pose, lens, logOdds: likelihood - choices, stars: pairs.stars.slice(0, pairs.count), spots: pairs.spots.slice(0, pairs.count) };
}

/** Logarithm of the likelihood ratio of the first pairs, matched within a circle, against spots scattered at random. */
function firstCount(pairs: Pairs, used: number, radius: number, spots: Spots): number {
  const chance = Math.min(0.3, (used * Math.PI * radius * radius) / (spots.width * spots.height));
  return pairs.count * Math.log(SEEN / chance) + (pairs.predicted - pairs.count) * Math.log((1 - SEEN) / (1 - chance));
}

/**
 * Numbers of the brightest `most` cap stars within `radius` of the optical axis, brightest first.
 *
 * @param candidates stars to choose from, brightest first; null = the whole cap
 */
export function starsInField(cap: StarCap, pose: Rotation, radius: number, most: number, candidates: Int32Array | null = null): Int32Array {
  const zx = pose[2], zy = pose[5], zz = pose[8];
  const known = cap.reveal(acos(zx * cap.centre[0] + zy * cap.centre[1] + zz * cap.centre[2]) + radius);
  const among = candidates ?? known;
  const out = new Int32Array(Math.min(most, among.length));
  // Never negative: a star without a direction (zeros) is never predicted.
  const limit = Math.cos(Math.min(radius, Math.PI / 2.2));
  const d = cap.directions;
  let n = 0;
  for (let k = 0; k < among.length && n < out.length; k++) {
    const i = among[k]!;
    if (d[3 * i]! * zx + d[3 * i + 1]! * zy + d[3 * i + 2]! * zz > limit) out[n++] = i;
  }
  return out.subarray(0, n);
}

/** Star-spot pairs, one to one, and the memory for finding them. */
interface Pairs {
  count: number;
  /** Field stars whose place is inside the frame (and within reach). */
  predicted: number;
  readonly stars: Int32Array;
  readonly spots: Int32Array;
  readonly distances: Float64Array;
  /** Number of the pair that has each spot, or -1. */
  readonly owner: Int32Array;
  readonly place: Float64Array;
}

function emptyPairs(most: number): Pairs {
  return {
    count: 0, predicted: 0, stars: new Int32Array(most), spots: new Int32Array(most), distances: new Float64Array(most),
    owner: new Int32Array(MOST_SPOTS), place: new Float64Array(PROJECTION.length),
  };
}

function matchPairs(
  pairs: Pairs, most: number, spots: Spots, cap: StarCap, field: Int32Array, pose: Rotation, lens: Lens, radius: number,
  near: ArrayLike<number>, cosReach: number,
): void {
  const { owner, place } = pairs;
  owner.fill(-1);
  pairs.count = 0;
  pairs.predicted = 0;
  const d = cap.directions;
  for (let n = 0; n < field.length && pairs.predicted < most; n++) {
    const s = field[n]!;
    const x = d[3 * s]!, y = d[3 * s + 1]!, z = d[3 * s + 2]!;
    if (x * near[0]! + y * near[1]! + z * near[2]! < cosReach) continue;
    if (!project(lens,
      pose[0] * x + pose[3] * y + pose[6] * z,
      pose[1] * x + pose[4] * y + pose[7] * z,
      pose[2] * x + pose[5] * y + pose[8] * z, place)) continue;
    const px = place[0]!, py = place[1]!;
    if (px < 0 || py < 0 || px > spots.width - 1 || py > spots.height - 1) continue;
    pairs.predicted++;
    const spot = nearestPlace(spots.grid, px, py, radius);
    if (spot < 0) continue;
    const dx = spots.x[spot]! - px, dy = spots.y[spot]! - py;
    const distance = Math.sqrt(dx * dx + dy * dy);
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
}

function toMatches(spots: Spots, cap: StarCap, pairs: Pairs): Matches {
  const directions = new Float64Array(3 * pairs.count);
  const x = new Float64Array(pairs.count);
  const y = new Float64Array(pairs.count);
  for (let n = 0; n < pairs.count; n++) {
    const s = 3 * pairs.stars[n]!;
    directions[3 * n] = cap.directions[s]!;
    directions[3 * n + 1] = cap.directions[s + 1]!;
    directions[3 * n + 2] = cap.directions[s + 2]!;
    x[n] = spots.x[pairs.spots[n]!]!;
    y[n] = spots.y[pairs.spots[n]!]!;
  }
  // Equal weights: it is still open which pairs are true, and a bright wrong one must not dominate the fit.
  return { count: pairs.count, directions, x, y, sigma: new Float64Array(pairs.count).fill(1) };
}
