import type { Background } from './background.js';
import { noiseAt, skyAt, slopeAt } from './background.js';
import type { Candidates } from './candidates.js';
import type { StarFit } from './fitRound.js';
import { type FitWorkspace, fitStar, makeFitWorkspace, newFit } from './fitStar.js';
import type { Picture } from './picture.js';
import { moffat } from './profile.js';
import type { StarModel } from './profile.js';
import { quantile } from './quantile.js';
import { axesOf, fwhmPerSigma } from './shape.js';
import { type Stamp, cutStamp, makeStamp } from './stamp.js';
import { climb } from './climb.js';
import { windowSums } from './window.js';
import { type Shape, emptySums } from './windowed.js';

/** The common star of a frame and the noise that its light adds. */
export interface FrameModel {
  readonly star: StarModel;
  /** Variance per unit of light (the inverse gain), 0 where the frame does not show it. */
  readonly perLight: number;
}

/**
 * Moffat stars of all exponents, seen through two windows: the light under the Gaussian window of twice the matching size
 * over that under the matching one, and the FWHM over the matching sigma. Windows end at three sigmas, as
 * in `windowSums`. Integrated numerically from the definitions.
 */
const byExponent: readonly { beta: number; ratio: number; width: number }[] = [
  { beta: 1.5, ratio: 1.7414, width: 1.8086 },
  { beta: 2, ratio: 1.7027, width: 1.9565 },
  { beta: 2.5, ratio: 1.68, width: 2.0414 },
  { beta: 3, ratio: 1.6652, width: 2.0966 },
  { beta: 4, ratio: 1.6474, width: 2.1641 },
  { beta: 6, ratio: 1.6306, width: 2.23 },
  { beta: 12, ratio: 1.6151, width: 2.2945 },
  { beta: 50, ratio: 1.6013, width: 2.3575 },
];
const usualExponent = 3;
const calibratorsWanted = 25;
const middlingHeight = 120;

/** Distance in FWHM of the long axis to which a star's pixels are used in its fit. */
export const fitReach = 1.5;

/**
 * Fits the brightest unsaturated candidates of the common shape with a few exponents and takes the best, with their width; then, from the
 * growth of the residuals with the light, the photon noise of the light itself.
 */
export function measureModel(image: Picture, mesh: Background, candidates: Candidates, shape: Shape, ceiling: number): FrameModel {
  const reach = fitReach * fwhmPerSigma * Math.sqrt(axesOf(shape).long);
  const picked = calibrators(image, mesh, candidates, shape, ceiling, reach, Infinity);
  if (picked.length < 5) return { star: { shape: narrowed(shape, usualExponent), profile: moffat(usualExponent) }, perLight: 0 };

  const workspace = makeFitWorkspace();
  const ratios = Float64Array.from(picked, (each) => each.ratio);
  // Pixels make narrow stars look more like a Gaussian than they are.
  const start = Math.min(6, exponentFor(quantile(ratios, ratios.length, 0.4)));
  const first = narrowed(shape, start);
  const tried = new Map<number, Trial>();
  const trial = (step: number): Trial => {
    const known = tried.get(step);
    if (known !== undefined) return known;
    const made = fitAll(picked, { shape: first, profile: moffat(start * Math.pow(1.25, step)) }, reach, workspace);
    tried.set(step, made);
    return made;
  };
  let best = 0;
  for (let round = 0; round < 10; round++) {
    const here = trial(best).cost;
    const beta = start * Math.pow(1.25, best);
    if (beta > 1.6 && trial(best - 1).cost < here) best--;
    else if (beta < 30 && trial(best + 1).cost < here) best++;
    else break;
  }
  // The bottom of the parabola through the three lowest costs.
  const a = tried.get(best - 1)?.cost ?? Infinity;
  const b = trial(best).cost;
  const c = tried.get(best + 1)?.cost ?? Infinity;
  const bend = a - 2 * b + c;
  const shift = bend > 0 && bend < Infinity ? (0.5 * (a - c)) / bend : 0;
  const star = { shape: first, profile: moffat(start * Math.pow(1.25, best + Math.max(-0.5, Math.min(0.5, shift)))) };
  const { width } = fitAll(picked, star, reach, workspace);
  const grow = Math.exp(2 * width);
  const fitted: Shape = { xx: first.xx * grow, xy: first.xy * grow, yy: first.yy * grow };
  const common = { shape: fitted, profile: star.profile };
  // The brightest show the errors of the model; medium ones show the photon noise.
  const middling = calibrators(image, mesh, candidates, shape, ceiling, reach, middlingHeight);
  return { star: common, perLight: photonNoise(middling.length < 8 ? picked : middling, common, reach, workspace) };
}

function exponentFor(ratio: number): number {
  for (let k = 1; k < byExponent.length; k++) {
    const wide = byExponent[k - 1]!;
    const steep = byExponent[k]!;
    if (ratio > steep.ratio) {
      const share = Math.min(1, (wide.ratio - ratio) / (wide.ratio - steep.ratio));
      return wide.beta * Math.pow(steep.beta / wide.beta, Math.max(0, share));
    }
  }
  return 50;
}

/** Shape of the Moffat star whose best-matching Gaussian is `shape`, before the pixels widened it. */
function narrowed(shape: Shape, beta: number): Shape {
  let k = 1;
  while (k < byExponent.length - 1 && byExponent[k]!.beta < beta) k++;
  const low = byExponent[k - 1]!;
  const high = byExponent[k]!;
  const share = Math.max(0, Math.min(1, Math.log(beta / low.beta) / Math.log(high.beta / low.beta)));
  const f = ((low.width + share * (high.width - low.width)) / fwhmPerSigma) ** 2;
  const pixel = 1 / 12;
  const least = 0.05;
  return { xx: Math.max(least, (shape.xx - pixel) * f), xy: shape.xy * f, yy: Math.max(least, (shape.yy - pixel) * f) };
}

/** Fits all calibrators, each from the result of its last fit. */
function fitAll(picked: readonly Calibrator[], star: StarModel, reach: number, workspace: FitWorkspace): Trial {
  const costs = new Float64Array(picked.length);
  const widths = new Float64Array(picked.length);
  let k = 0;
  for (const each of picked) {
    const fit = { ...each.fit };
    fitStar(each.stamp, star, provisional(each), fit, { reach, widthSpread: 1, skySpread: 3 * each.noise }, workspace);
    costs[k] = fit.settled ? fit.chi2 : Infinity;
    widths[k++] = fit.logWidth;
    if (fit.settled) Object.assign(each.fit, fit);
  }
  // Half of the stars may have neighbours; the better half determines the profile.
  return { cost: quantile(costs, k, 0.35), width: quantile(widths, k, 0.5) };
}

/** Light that adds noise like a fiftieth of itself keeps the brightest from deciding alone. */
function provisional(each: Calibrator): { sky: number; perLight: number } {
  return { sky: each.noise, perLight: 0.0004 * each.peak };
}

interface Trial {
  readonly cost: number;
  readonly width: number;
}

interface Calibrator {
  readonly stamp: Stamp;
  readonly fit: StarFit;
  readonly noise: number;
  readonly peak: number;
  /** Light under the window of twice the size, over that under the matching window. */
  readonly ratio: number;
}

function calibrators(
  image: Picture, mesh: Background, candidates: Candidates, shape: Shape, ceiling: number, reach: number, highest: number,
): Calibrator[] {
  const picked: Calibrator[] = [];
  const sums = emptySums();
  const apart = (2 * reach) ** 2;
  const double = { xx: 4 * shape.xx, xy: 4 * shape.xy, yy: 4 * shape.yy };
  let tries = 0;
  for (let k = 0; k < candidates.count && tries < 400 && picked.length < calibratorsWanted; k++) {
    if (candidates.height[k]! > highest) continue;
    if (candidates.height[k]! < 10) break;
    tries++;
    const x0 = candidates.x[k]!;
    const y0 = candidates.y[k]!;
    const sky = skyAt(image, mesh, x0, y0);
    const place = climb(image, x0, y0, shape, sky, sums);
    if (place === null || sums.inside < 0.98) continue;
    const { long, short } = axesOf(whitened(sums, shape));
    if (long > 0.62 || short < 0.35) continue;
    if (picked.some((each) => (each.fit.x - place.x) ** 2 + (each.fit.y - place.y) ** 2 < apart)) continue;
    const stamp = makeStamp();
    cutStamp(image, place.x, place.y, Math.ceil(reach), sky, slopeAt(image, mesh, place.x, place.y), ceiling, stamp);
    const used = stamp.columns * stamp.rows;
    if (stamp.values.subarray(0, used).some(Number.isNaN)) continue;
    const { light, weight } = sums;
    windowSums(image, place.x, place.y, double, sky, Infinity, sums);
    const fit = newFit(place.x, place.y, light / weight);
    picked.push({ stamp, fit, noise: noiseAt(mesh, x0, y0), peak: fit.peak, ratio: sums.light / light });
  }
  return picked;
}

/** Moments in units of the window's own: a star of the common shape has ½, the open sky 1. */
export function whitened(m: Shape, w: Shape): Shape {
  // L⁻¹ m L⁻ᵀ with the Cholesky factor L of w.
  const l11 = Math.sqrt(w.xx);
  const l21 = w.xy / l11;
  const l22 = Math.sqrt(w.yy - l21 * l21);
  const xx = m.xx / w.xx;
  const xy = (m.xy / l11 - l21 * xx) / l22;
  const yy = (m.yy - (2 * l21 * m.xy) / l11 + l21 * l21 * xx) / (l22 * l22);
  return { xx, xy, yy };
}

/**
 * The variance per unit of light with which the stars' residuals have their expected size: the median of their chi² is 1. 0 where the
 * residuals leave no room for it.
 */
function photonNoise(picked: readonly Calibrator[], star: StarModel, reach: number, workspace: FitWorkspace): number {
  const costs = new Float64Array(picked.length);
  const typical = (perLight: number): number => {
    let k = 0;
    for (const each of picked) {
      const fit = { ...each.fit };
      fitStar(each.stamp, star, { sky: each.noise, perLight }, fit, { reach, widthSpread: 0.15, skySpread: each.noise }, workspace);
      costs[k++] = fit.settled ? fit.chi2 : Infinity;
      if (fit.settled) Object.assign(each.fit, fit);
    }
    // Neighbours make some too large, none too small: a little below the middle is the stars' own value.
    return quantile(costs, k, 0.45);
  };
  let noise = 0;
  let peak = 0;
  for (const each of picked) {
    noise = Math.max(noise, each.noise);
    peak = Math.max(peak, each.peak);
  }
  // From light that adds a tenth of the sky's variance at the brightest peak, to light of a quarter sigma doubling it.
  let low = Math.log((0.1 * noise * noise) / peak);
  let high = Math.log(4 * noise);
  if (!(high > low) || typical(Math.exp(low)) < 1) return 0;
  while (high - low > 0.1) {
    const middle = (low + high) / 2;
    if (typical(Math.exp(middle)) > 1) low = middle;
    else high = middle;
  }
  return Math.exp((low + high) / 2);
}
