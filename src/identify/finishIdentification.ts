import type { Rotation } from '../geometry/rotation.js';
import type { DetectedStar } from '../stars/star.js';
import { type FitChoice, type Matches, type PoseFit, fitPose } from './fitPose.js';
import { starsInField } from './judgePose.js';
import { median } from '../numeric/median.js';
import type { Lens } from './lens.js';
import { type PlaceGrid, makePlaceGrid, nearestPlace } from './placeGrid.js';
import { MAX_RADIAL_TERMS, PROJECTION, project } from './projection.js';
import type { StarCap } from './starCap.js';

/** Brightest detections that take part in the final match. */
const MOST_DETECTIONS = 500;
/** Matching and fitting in turn, at most. */
const ROUNDS = 5;
/** How far off, in sigma, a star may be seen. */
const FARTHEST = 3.5;
/** A star this much brighter or fainter than its spot is another star, magnitudes. */
const MAGNITUDE_TOLERANCE = 1.5;
/** A neighbour fainter by more than this does not move the centroid noticeably, magnitudes. */
const NEIGHBOUR_MATTERS = 3;
/** By how much a radial term must lower chi-squared to stay: chance does that once in 2000. */
const TERM_PAYS = 12;
/** In smaller fields than this (half diagonal, radians) no lens bends what can be seen. */
const STRAIGHT_FIELD = 0.01;

/** Which detection is which star, and the pose and lens that fit them all. */
export interface FinishedMatch {
  readonly pose: Rotation;
  readonly lens: Lens;
  /** Numbers of detections, and the cap number of the star each of them shows. */
  readonly spots: Int32Array;
  readonly stars: Int32Array;
  /** Root mean square residual in each coordinate, pixels. */
  readonly rms: number;
}

/**
 * Matches all detections (brightest first; the first 500) with all catalogue stars, given a pose good to a pixel or two
 * over most of the frame. Left out: stars that have a neighbour in the same spot, spots far brighter or fainter than
 * their star. Null if fewer than four pairs are left.
 */
export function finishIdentification(
  detections: readonly DetectedStar[], width: number, height: number, cap: StarCap, pose0: Rotation, lens0: Lens,
): FinishedMatch | null {
  const frame = prepare(detections, width, height, cap, pose0, lens0);
  let pose = pose0;
  let lens = lens0;
  let rms = 0;
  // Model errors still in the pose, pixels: what a match may be off beyond the errors of star and catalogue.
  let slack = 2.5;
  let matches: Matches | null = null;
  const most = Math.hypot(width, height) / 2 / lens0.focalPixels < STRAIGHT_FIELD ? 0 : MAX_RADIAL_TERMS - 1;
  for (let round = 0; round < ROUNDS; round++) {
    const before = frame.count;
    const changed = matchAll(frame, cap, pose, lens, slack, round === 0);
    if (frame.count < 4) return null;
    if (!changed && before === frame.count && round >= 2) break;
    matches = toMatches(frame, cap, lens);
    const fit = fitBest(matches, pose, lens, round === 0 ? lens.radial.length : most);
    if (!fit) return null;
    ({ pose, lens, rms } = fit);
    slack = Math.min(slack, Math.max(0.3, 1.5 * rms));
  }
  return { pose, lens, rms, spots: frame.spots.slice(0, frame.count), stars: frame.stars.slice(0, frame.count) };
}

/** One frame's detections and the stars that may be in it, as flat arrays. */
interface Working {
  readonly width: number;
  readonly height: number;
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly sigma: Float64Array;
  /** -2.5 log10 of the flux. */
  readonly instrumental: Float64Array;
  readonly saturated: Uint8Array;
  readonly fwhm: number;
  readonly grid: PlaceGrid;
  /** Cap numbers of the stars, brightest first, and their catalogue errors in pixels. */
  readonly field: Int32Array;
  readonly fieldSigma: Float64Array;
  /** Where the stars should be, NaN outside the picture. */
  readonly px: Float64Array;
  readonly py: Float64Array;
  /** 1 = another star is in the same spot. */
  readonly crowded: Uint8Array;
  /** Number in `field` of each detection's star, or -1. */
  readonly owner: Int32Array;
  readonly distance: Float64Array;
  /** The pairs. */
  count: number;
  readonly spots: Int32Array;
  readonly stars: Int32Array;
}

function prepare(detections: readonly DetectedStar[], width: number, height: number, cap: StarCap, pose: Rotation, lens: Lens): Working {
  const used = Math.min(detections.length, MOST_DETECTIONS);
  const radius = 1.1 * Math.atan(Math.hypot(width, height) / 2 / lens.focalPixels);
  const field = starsInField(cap, pose, radius, 3 * used + 100);
  const x = new Float64Array(used), y = new Float64Array(used), sigma = new Float64Array(used);
  const instrumental = new Float64Array(used), fwhms = new Float64Array(used), saturated = new Uint8Array(used);
  for (let i = 0; i < used; i++) {
    const d = detections[i]!;
    x[i] = d.x;
    y[i] = d.y;
    sigma[i] = d.sigma;
    instrumental[i] = -2.5 * Math.log10(Math.max(1e-9, d.flux));
    fwhms[i] = d.fwhm;
    saturated[i] = d.saturated ? 1 : 0;
  }
  const fieldSigma = new Float64Array(field.length);
  for (let n = 0; n < field.length; n++) fieldSigma[n] = cap.sigma(field[n]!) * lens.focalPixels;
  return {
    width, height, x, y, sigma, instrumental, saturated, fwhm: median(fwhms) || 2,
    grid: makePlaceGrid(x, y, width, height, Math.max(8, Math.sqrt((width * height) / Math.max(1, used)))),
    field, fieldSigma, px: new Float64Array(field.length), py: new Float64Array(field.length), crowded: new Uint8Array(field.length),
    owner: new Int32Array(used), distance: new Float64Array(used),
    count: 0, spots: new Int32Array(used), stars: new Int32Array(used),
  };
}

const place = new Float64Array(PROJECTION.length);

/** Pairs stars and detections anew; true if that changed anything. */
function matchAll(w: Working, cap: StarCap, pose: Rotation, lens: Lens, slack: number, first: boolean): boolean {
  const d = cap.directions;
  const { field, px, py } = w;
  for (let n = 0; n < field.length; n++) {
    const s = 3 * field[n]!;
    const x = d[s]!, y = d[s + 1]!, z = d[s + 2]!;
    const seen = project(lens,
      pose[0] * x + pose[3] * y + pose[6] * z,
      pose[1] * x + pose[4] * y + pose[7] * z,
      pose[2] * x + pose[5] * y + pose[8] * z, place)
      && place[0]! >= 0 && place[1]! >= 0 && place[0]! <= w.width - 1 && place[1]! <= w.height - 1;
    px[n] = seen ? place[0]! : NaN;
    py[n] = seen ? place[1]! : NaN;
  }
  // The distance between neighbours hardly depends on the pose.
  if (first) markCrowded(w, cap);
  w.owner.fill(-1);
  for (let n = 0; n < field.length; n++) {
    if (w.crowded[n] === 1 || !(px[n]! >= 0)) continue;
    const blur2 = slack * slack + w.fieldSigma[n]! ** 2;
    const spot = nearestPlace(w.grid, px[n]!, py[n]!, FARTHEST * Math.sqrt(blur2) + 1);
    if (spot < 0) continue;
    const dx = w.x[spot]! - px[n]!, dy = w.y[spot]! - py[n]!;
    const off2 = dx * dx + dy * dy;
    if (off2 > FARTHEST * FARTHEST * (blur2 + w.sigma[spot]! ** 2)) continue;
    if (w.owner[spot]! >= 0 && w.distance[spot]! <= off2) continue;
    w.owner[spot] = n;
    w.distance[spot] = off2;
  }
  leaveOutOtherBrightness(w, cap);
  let changed = false;
  let count = 0;
  for (let spot = 0; spot < w.owner.length; spot++) {
    if (w.owner[spot]! < 0) continue;
    const star = field[w.owner[spot]!]!;
    if (w.spots[count] !== spot || w.stars[count] !== star) changed = true;
    w.spots[count] = spot;
    w.stars[count++] = star;
  }
  if (count !== w.count) changed = true;
  w.count = count;
  return changed;
}

/** Marks the stars that have another one so near that the picture shows one spot for both. */
function markCrowded(w: Working, cap: StarCap): void {
  const { field, px, py, crowded } = w;
  const reach = Math.max(2, 1.5 * w.fwhm);
  const grid = makePlaceGrid(px, py, w.width, w.height, Math.max(16, reach));
  crowded.fill(0);
  for (let n = 0; n < field.length; n++) {
    if (!(px[n]! >= 0)) continue;
    const column = Math.floor(px[n]! / grid.cell), row = Math.floor(py[n]! / grid.cell);
    for (let r = Math.max(0, row - 1); r <= Math.min(grid.rows - 1, row + 1); r++) {
      const from = grid.start[r * grid.columns + Math.max(0, column - 1)]!;
      const to = grid.start[r * grid.columns + Math.min(grid.columns - 1, column + 1) + 1]!;
      for (let m = from; m < to; m++) {
        const k = grid.members[m]!;
        // Each pair once: k is the fainter one.
        if (k <= n) continue;
        const dx = px[k]! - px[n]!, dy = py[k]! - py[n]!;
        if (dx * dx + dy * dy > reach * reach) continue;
        crowded[k] = 1;
        if (cap.magnitudes[field[k]!]! - cap.magnitudes[field[n]!]! < NEIGHBOUR_MATTERS) crowded[n] = 1;
      }
    }
  }
}

/** Leaves out pairs whose spot is far brighter or fainter than the others say a star of that magnitude should be. */
function leaveOutOtherBrightness(w: Working, cap: StarCap): void {
  const zeros = new Float64Array(w.owner.length);
  let sound = 0;
  for (let spot = 0; spot < w.owner.length; spot++) {
    if (w.owner[spot]! >= 0 && w.saturated[spot] === 0) zeros[sound++] = cap.magnitudes[w.field[w.owner[spot]!]!]! - w.instrumental[spot]!;
  }
  if (sound < 5) return;
  const zero = median(zeros.subarray(0, sound));
  for (let spot = 0; spot < w.owner.length; spot++) {
    if (w.owner[spot]! < 0) continue;
    const off = cap.magnitudes[w.field[w.owner[spot]!]!]! - w.instrumental[spot]! - zero;
    // A saturated spot has lost light: its star may be brighter than it looks, not fainter.
    if (off > MAGNITUDE_TOLERANCE || (off < -MAGNITUDE_TOLERANCE && w.saturated[spot] === 0)) w.owner[spot] = -1;
  }
}

function toMatches(w: Working, cap: StarCap, lens: Lens): Matches {
  const { count } = w;
  const directions = new Float64Array(3 * count);
  const x = new Float64Array(count), y = new Float64Array(count), sigma = new Float64Array(count);
  for (let n = 0; n < count; n++) {
    const spot = w.spots[n]!, star = w.stars[n]!;
    for (let k = 0; k < 3; k++) directions[3 * n + k] = cap.directions[3 * star + k]!;
    x[n] = w.x[spot]!;
    y[n] = w.y[spot]!;
    sigma[n] = Math.hypot(w.sigma[spot]!, cap.sigma(star) * lens.focalPixels);
  }
  return { count, directions, x, y, sigma };
}

/** Fits pose and focal length, and as many more radial terms than the lens has as pay for themselves. */
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

/** Twice the Cauchy loss with scale 3 sigma: chi-squared for small residuals, slow growth for outliers. */
function robustChi(fit: PoseFit, matches: Matches): number {
  let sum = 0;
  for (let i = 0; i < matches.count; i++) sum += 9 * Math.log1p((fit.residuals[i]! / matches.sigma[i]!) ** 2 / 9);
  return sum;
}
