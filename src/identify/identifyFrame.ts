import type { Rotation } from '../geometry/rotation.js';
import type { DetectedStar } from '../stars/star.js';
import { starsInField } from './judgePose.js';
import { makeSpots } from './spots.js';
import { fitPose, type Matches, type PoseFit } from './fitPose.js';
import { type Lens, toPixel } from './lens.js';
import { MAX_RADIAL_TERMS } from './projection.js';
import { searchPose, type SearchHints, type SearchMemory } from './searchPose.js';
import type { StarCap } from './starCap.js';

/** A detected star matched with a catalogue star. */
export interface IdentifiedStar {
  readonly detection: DetectedStar;
  /** Number in the catalogue. */
  readonly catalogue: number;
  /** Apparent direction in the frame of the pose (local frame), length 1. */
  readonly direction: readonly [number, number, number];
  /** One-sigma error of the catalogue place, radians in each coordinate; the same error in every frame of the night. */
  readonly catalogueSigma: number;
  readonly magnitude: number;
}

/** One frame recognised. */
export interface Identification {
  /** Camera to local frame. */
  readonly pose: Rotation;
  readonly lens: Lens;
  readonly stars: readonly IdentifiedStar[];
  /** Root mean square residual in each coordinate, pixels. */
  readonly residualPixels: number;
  /** Natural logarithm of the odds against a chance match. */
  readonly logOdds: number;
}

/** Brightest detections that take part in the final match. */
const MOST_DETECTIONS = 500;
/** Matching and fitting in turn. */
const ROUNDS = 4;
/** A star this much brighter or fainter than its spot is another star, magnitudes. */
const MAGNITUDE_TOLERANCE = 1.5;
/** A neighbour fainter by more than this does not move the centroid noticeably, magnitudes. */
const NEIGHBOUR_MATTERS = 3;

/**
 * Recognises the stars of one frame near the pole of `cap`. No hint is needed. Null if no pose reaches the odds
 * against chance of `ACCEPTED_ODDS`.
 *
 * @param detections brightest first
 * @param memory from an earlier frame of the same set, or a new Map
 */
export function identifyFrame(
  detections: readonly DetectedStar[], width: number, height: number, cap: StarCap,
  hints: SearchHints = {}, memory: SearchMemory = new Map(),
): Identification | null {
  const found = searchPose(makeSpots(detections, width, height), cap, hints, memory);
  return found && finishIdentification(detections, width, height, cap, found.pose, found.lens, found.logOdds);
}

/** Matches all detections with all catalogue stars, given a pose good to a pixel or two over most of the frame. */
export function finishIdentification(
  detections: readonly DetectedStar[], width: number, height: number, cap: StarCap,
  pose0: Rotation, lens0: Lens, logOdds: number,
): Identification | null {
  const used = detections.slice(0, MOST_DETECTIONS);
  const radius = 1.1 * Math.atan(Math.hypot(width, height) / 2 / lens0.focalPixels);
  const field = starsInField(cap, pose0, radius, 3 * used.length + 100);
  const nearest = nearestSpot(used, width, height);
  let pose = pose0;
  let lens = lens0;
  let fit: PoseFit | null = null;
  let pairs: Pair[] = [];
  // Model errors still in the pose, pixels: what a match may be off beyond the errors of star and catalogue.
  let slack = 2.5;
  for (let round = 0; round < ROUNDS; round++) {
    pairs = matchAll(used, width, height, cap, field, pose, lens, slack, nearest);
    if (pairs.length < 4) return null;
    const choice = fitBest(toMatches(used, cap, pairs, lens), pose, lens, round >= ROUNDS - 2 ? mostTerms(lens, width, height) : lens.radial.length);
    if (!choice) return null;
    fit = choice;
    pose = fit.pose;
    lens = fit.lens;
    slack = Math.min(slack, Math.max(0.3, 1.5 * fit.rms));
  }
  if (!fit) return null;
  return {
    pose, lens, logOdds, residualPixels: fit.rms,
    stars: pairs.map(({ star, spot }) => ({
      detection: used[spot]!,
      catalogue: cap.catalogue[star]!,
      direction: [cap.directions[3 * star]!, cap.directions[3 * star + 1]!, cap.directions[3 * star + 2]!],
      catalogueSigma: cap.sigma(star),
      magnitude: cap.magnitudes[star]!,
    })),
  };
}

interface Pair { readonly star: number; readonly spot: number }

function matchAll(
  detections: readonly DetectedStar[], width: number, height: number, cap: StarCap, field: Int32Array,
  pose: Rotation, lens: Lens, slack: number, nearest: (x: number, y: number, radius: number) => number,
): Pair[] {
  const places: { star: number; x: number; y: number }[] = [];
  const d = cap.directions;
  for (const star of field) {
    const x = d[3 * star]!, y = d[3 * star + 1]!, z = d[3 * star + 2]!;
    const p = toPixel(lens, [
      pose[0] * x + pose[3] * y + pose[6] * z,
      pose[1] * x + pose[4] * y + pose[7] * z,
      pose[2] * x + pose[5] * y + pose[8] * z,
    ]);
    if (p && p.x >= 0 && p.y >= 0 && p.x <= width - 1 && p.y <= height - 1) places.push({ star, x: p.x, y: p.y });
  }
  const crowded = withNeighbour(places, cap, detections);
  const owner = new Int32Array(detections.length).fill(-1);
  const distance = new Float64Array(detections.length);
  places.forEach(({ star, x, y }, n) => {
    if (crowded[n]) return;
    const blur = Math.hypot(slack, cap.sigma(star) * lens.focalPixels);
    const spot = nearest(x, y, 3.5 * blur + 1);
    if (spot < 0) return;
    const seen = detections[spot]!;
    const off = Math.hypot(seen.x - x, seen.y - y);
    if (off > 3.5 * Math.hypot(blur, seen.sigma)) return;
    if (owner[spot]! >= 0 && distance[spot]! <= off) return;
    owner[spot] = star;
    distance[spot] = off;
  });
  const pairs: Pair[] = [];
  owner.forEach((star, spot) => { if (star >= 0) pairs.push({ star, spot }); });
  return sameBrightness(pairs, detections, cap);
}

/** Marks the stars that have another one so near that the picture shows one spot for both. */
function withNeighbour(places: readonly { star: number; x: number; y: number }[], cap: StarCap, detections: readonly DetectedStar[]): Uint8Array {
  const marks = new Uint8Array(places.length);
  const fwhm = detections[detections.length >> 1]?.fwhm ?? 2;
  const reach = Math.max(2, 1.5 * fwhm);
  const order = places.map((_, n) => n).sort((a, b) => places[a]!.x - places[b]!.x);
  for (let i = 0; i < order.length; i++) {
    const a = places[order[i]!]!;
    for (let k = i + 1; k < order.length; k++) {
      const b = places[order[k]!]!;
      if (b.x - a.x > reach) break;
      if (Math.abs(b.y - a.y) > reach || Math.hypot(b.x - a.x, b.y - a.y) > reach) continue;
      const fainter = cap.magnitudes[a.star]! - cap.magnitudes[b.star]!;
      if (fainter > -NEIGHBOUR_MATTERS) marks[order[i]!] = 1;
      if (fainter < NEIGHBOUR_MATTERS) marks[order[k]!] = 1;
    }
  }
  return marks;
}

/** Leaves out pairs whose spot is far brighter or fainter than the others say a star of that magnitude should be. */
function sameBrightness(pairs: Pair[], detections: readonly DetectedStar[], cap: StarCap): Pair[] {
  const zero = (p: Pair): number => cap.magnitudes[p.star]! + 2.5 * Math.log10(Math.max(1e-9, detections[p.spot]!.flux));
  const sound = pairs.filter((p) => !detections[p.spot]!.saturated).map(zero).sort((a, b) => a - b);
  if (sound.length < 5) return pairs;
  const middle = sound[sound.length >> 1]!;
  // A saturated spot has lost light: it may be brighter than it looks, not fainter.
  return pairs.filter((p) => {
    const off = zero(p) - middle;
    return detections[p.spot]!.saturated ? off < MAGNITUDE_TOLERANCE : Math.abs(off) < MAGNITUDE_TOLERANCE;
  });
}

function toMatches(detections: readonly DetectedStar[], cap: StarCap, pairs: readonly Pair[], lens: Lens): Matches {
  const count = pairs.length;
  const directions = new Float64Array(3 * count);
  const x = new Float64Array(count);
  const y = new Float64Array(count);
  const sigma = new Float64Array(count);
  pairs.forEach(({ star, spot }, n) => {
    directions.set(cap.directions.subarray(3 * star, 3 * star + 3), 3 * n);
    x[n] = detections[spot]!.x;
    y[n] = detections[spot]!.y;
    sigma[n] = Math.hypot(detections[spot]!.sigma, cap.sigma(star) * lens.focalPixels);
  });
  return { count, directions, x, y, sigma };
}

/** Without a strong lens no radial term bends so small a field. */
function mostTerms(lens: Lens, width: number, height: number): number {
  return Math.hypot(width, height) / 2 / lens.focalPixels < 0.01 ? 0 : MAX_RADIAL_TERMS - 1;
}

/**
 * Fits pose and focal length, and as many more radial terms than the lens has as pay for themselves: a term stays if it
 * lowers chi-squared by more than 12, which chance does once in 2000.
 */
function fitBest(matches: Matches, pose: Rotation, lens: Lens, most: number): PoseFit | null {
  let best: PoseFit | null = null;
  let bestChi = Infinity;
  for (let terms = Math.min(lens.radial.length, most); terms <= most; terms++) {
    if (terms > lens.radial.length && matches.count < 8 + 4 * terms) break;
    const start = best ?? { pose, lens };
    const fit = fitPose(matches, start.pose, { ...start.lens, radial: start.lens.radial.slice(0, terms) }, {
      focal: matches.count >= 5, radialTerms: terms, robust: 3, iterations: 8,
    });
    if (!fit) continue;
    const chi = robustChi(fit, matches);
    if (best && chi > bestChi - 12) continue;
    best = fit;
    bestChi = chi;
  }
  return best;
}

/** Twice the Cauchy loss with scale 3 sigma: chi-squared for small residuals, slow growth for outliers. */
function robustChi(fit: PoseFit, matches: Matches): number {
  let sum = 0;
  for (let i = 0; i < matches.count; i++) sum += 9 * Math.log1p((fit.residuals[i]! / matches.sigma[i]!) ** 2 / 9);
  return sum;
}

/** Finds the nearest of many spots within a radius, by cells. Returns a function that gives its number or -1. */
function nearestSpot(detections: readonly DetectedStar[], width: number, height: number): (x: number, y: number, radius: number) => number {
  const cell = Math.max(4, Math.sqrt((width * height) / Math.max(1, detections.length)));
  const columns = Math.ceil(width / cell) + 1;
  const lists = new Map<number, number[]>();
  detections.forEach((d, i) => {
    const key = Math.floor(d.y / cell) * columns + Math.floor(d.x / cell);
    const list = lists.get(key);
    if (list) list.push(i);
    else lists.set(key, [i]);
  });
  return (x, y, radius) => {
    let best = radius * radius;
    let found = -1;
    for (let r = Math.floor((y - radius) / cell); r <= (y + radius) / cell; r++) {
      for (let c = Math.max(0, Math.floor((x - radius) / cell)); c <= Math.min(columns - 1, (x + radius) / cell); c++) {
        for (const i of lists.get(r * columns + c) ?? []) {
          const d2 = (detections[i]!.x - x) ** 2 + (detections[i]!.y - y) ** 2;
          if (d2 < best) { best = d2; found = i; }
        }
      }
    }
    return found;
  };
}
