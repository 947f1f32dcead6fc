import type { Rotation } from '../geometry/rotation.js';
import type { DetectedStar } from '../stars/star.js';
import { type FitChoice, type Matches, type PoseFit, fitPose } from './fitPose.js';
import { starsInField } from './judgePose.js';
import type { Lens } from './lens.js';
import {
  type Detections, type FieldStars, type Pairing, crowdedStars, pairUp, placesOf, samePairing, toDetections, toFieldStars,
} from './pairing.js';
import { MAX_RADIAL_TERMS } from './projection.js';
import type { StarCap } from './starCap.js';

/** The most detections (the brightest) used in the final match. */
const MOST_DETECTIONS = 500;
/** Matching and fitting are repeated in turn: at most this often, and at least this often before unchanged pairs end it. */
const ROUNDS = 5;
const FEWEST_ROUNDS = 3;
/** The error allowed for the first pose and lens, and the least for later ones, pixels. */
const FIRST_SLACK = 2.5;
const LEAST_SLACK = 0.3;
/** The fall in chi-squared required for one more radial term: by chance that happens once in 2000. */
const TERM_PAYS = 12;
/** In smaller fields than this (half diagonal, radians) no lens has visible distortion. */
const STRAIGHT_FIELD = 0.01;

/** In smaller fields than this (half diagonal, radians), or with fewer stars, decentred elements have no visible effect. */
const ASKEW_FIELD = 0.05;
const ASKEW_STARS = 30;

/** Which detection is which star, and the pose and lens that fit them all. */
export interface FinishedMatch {
  readonly pose: Rotation;
  readonly lens: Lens;
  /** Indexes of detections, and the cap number of the star of each. */
  readonly spots: Int32Array;
  readonly stars: Int32Array;
  /** Root mean square residual in each coordinate, pixels. */
  readonly rms: number;
}

/**
 * Matches all detections (brightest first; the first 500) with all catalogue stars, given a pose good to a pixel or two over most of the
 * frame. Left out: stars with a neighbour in the same spot, spots far brighter or fainter than their star. Null if fewer than four pairs
 * are left.
 */
export function finishIdentification(
  detections: readonly DetectedStar[], width: number, height: number, cap: StarCap, pose0: Rotation, lens0: Lens,
): FinishedMatch | null {
  const seen = toDetections(detections, MOST_DETECTIONS, width, height);
  const halfDiagonal = Math.hypot(width, height) / 2 / lens0.focalPixels;
  const field = toFieldStars(cap, starsInField(cap, pose0, 1.1 * Math.atan(halfDiagonal), 3 * seen.x.length + 100), lens0);
  const most = halfDiagonal < STRAIGHT_FIELD ? 0 : MAX_RADIAL_TERMS - 1;
  // Which stars are near neighbours hardly depends on the pose.
  const crowded = crowdedStars(field, placesOf(field, cap, pose0, lens0, width, height), seen);
  let known = { pose: pose0, lens: lens0, rms: 0 };
  let slack = FIRST_SLACK;
  let pairs: Pairing | null = null;
  for (let round = 0; round < ROUNDS; round++) {
    const next = pairUp(seen, field, placesOf(field, cap, known.pose, known.lens, width, height), crowded, slack);
    if (next.spots.length < 4) return null;
    const settled = pairs !== null && samePairing(pairs, next) && round >= FEWEST_ROUNDS - 1;
    pairs = next;
    if (settled) break;
    const matches = toMatches(pairs, seen, field, cap, known.lens);
    const straight = fitBest(matches, known.pose, known.lens, round === 0 ? lens0.radial.length : most);
    const mayBeAskew = round > 0 && halfDiagonal > ASKEW_FIELD && matches.count >= ASKEW_STARS;
    const fit = straight && mayBeAskew ? askew(matches, straight) : straight;
    if (!fit) return null;
    known = fit;
    slack = Math.min(slack, Math.max(LEAST_SLACK, 1.5 * known.rms));
  }
  if (!pairs) return null;
  return { pose: known.pose, lens: known.lens, rms: known.rms, spots: pairs.spots, stars: pairs.stars.map((n) => field.numbers[n]!) };
}

function toMatches(pairs: Pairing, seen: Detections, field: FieldStars, cap: StarCap, lens: Lens): Matches {
  const count = pairs.spots.length;
  const directions = new Float64Array(3 * count);
  const x = new Float64Array(count), y = new Float64Array(count), sigma = new Float64Array(count);
  for (let n = 0; n < count; n++) {
    const spot = pairs.spots[n]!, star = field.numbers[pairs.stars[n]!]!;
    for (let k = 0; k < 3; k++) directions[3 * n + k] = cap.directions[3 * star + k]!;
    x[n] = seen.x[spot]!;
    y[n] = seen.y[spot]!;
    sigma[n] = Math.hypot(seen.sigma[spot]!, cap.sigma(star) * lens.focalPixels);
  }
  return { count, directions, x, y, sigma };
}

/** Fits pose and focal length, and as many further radial terms as improve the fit enough. */
function fitBest(matches: Matches, pose: Rotation, lens: Lens, most: number): PoseFit | null {
  let best: PoseFit | null = null;
  let bestChi = Infinity;
  for (let terms = Math.min(lens.radial.length, most); terms <= most; terms++) {
    if (terms > lens.radial.length && matches.count < 8 + 4 * terms) break;
    const start = best ?? { pose, lens };
    const choice: FitChoice = { focal: matches.count >= 5, radialTerms: terms, robust: 3, iterations: 8 };
    const fit = fitPose(matches, start.pose, { ...start.lens, radial: start.lens.radial.slice(0, terms) }, choice);
    if (!fit) continue;
    const chi = robustChi(fit, matches);
    if (best && chi > bestChi - TERM_PAYS) break;
    best = fit;
    bestChi = chi;
  }
  return best;
}

/** The same with tangential terms, if they improve the fit enough. */
function askew(matches: Matches, straight: PoseFit): PoseFit {
  const { pose, lens } = straight;
  const fit = fitPose(
    matches, pose, lens, { focal: true, radialTerms: lens.radial.length, tangential: true, robust: 3, iterations: 8 },
  );
  return fit && robustChi(fit, matches) < robustChi(straight, matches) - TERM_PAYS ? fit : straight;
}

/** Twice the Cauchy loss with scale 3 sigma: chi-squared for small residuals, slow growth for outliers. */
function robustChi(fit: PoseFit, matches: Matches): number {
  let sum = 0;
  for (let i = 0; i < matches.count; i++) sum += 9 * Math.log1p((fit.residuals[i]! / matches.sigma[i]!) ** 2 / 9);
  return sum;
}
