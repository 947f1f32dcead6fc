import type { Image } from '../frames/frame.js';
import type { Background } from './background.js';
import { meshAt, noiseAt } from './background.js';
import type { Candidates } from './candidates.js';
import { cutStamp, fitStar, makeStamp, newFit } from './fitStar.js';
import type { Stamp, StarFit } from './fitStar.js';
import { moffat } from './profile.js';
import type { Profile, StarModel } from './profile.js';
import { quantile } from './quantile.js';
import { axesOf, fwhmOf, fwhmPerSigma } from './shape.js';
import { climb } from './climb.js';
import type { Shape } from './window.js';
import { emptySums } from './window.js';

/** The common star of a frame and what its light adds to the noise. */
export interface FrameModel {
  readonly star: StarModel;
  /** Variance per unit of light (the inverse gain), 0 where the frame does not show it. */
  readonly perLight: number;
}

/** Exponents tried first; seeing gives 2.5 to 4.8, a sharp lens on a small chip nearly a Gaussian. */
const exponents = [1.5, 2.2, 3, 4, 6, 10, 50];
const usualExponent = 3;
const calibratorsWanted = 40;

/** Distance in FWHM of the long axis to which a star's pixels take part in its fit. */
export const fitReach = 1.5;

/**
 * Fits the brightest unsaturated candidates of the common shape with each exponent and takes the best; then their width;
 * then, from how the residuals grow with the light, the noise that light itself brings (photons).
 */
export function measureModel(image: Image, mesh: Background, candidates: Candidates, shape: Shape, ceiling: number): FrameModel {
  const reach = 2 * fwhmPerSigma * Math.sqrt(axesOf(shape).long);
  const picked = calibrators(image, mesh, candidates, shape, ceiling, reach);
  if (picked.length < 5) return { star: { shape, profile: moffat(usualExponent) }, perLight: 0 };

  // Each trial starts where the one before ended.
  const fits = picked.map((each) => ({ ...each.fit }));
  const costs = new Float64Array(picked.length);
  const widths = new Float64Array(picked.length);
  const tryExponent = (beta: number): Trial => {
    const profile = moffat(beta);
    picked.forEach((each, k) => {
      const fit = fits[k]!;
      // Light that adds noise like a fiftieth of itself keeps the brightest from deciding alone.
      const perLight = 0.0004 * each.fit.peak;
      fitStar(each.stamp, { shape, profile }, { sky: each.noise, perLight }, fit, reach, 1, 3 * each.noise);
      costs[k] = fit.settled ? fit.chi2 : Infinity;
      widths[k] = fit.logWidth;
      if (!fit.settled) fits[k] = { ...each.fit };
    });
    // Half of the stars may have company; the better half tells the profile.
    const cost = quantile(costs.slice(), costs.length, 0.35);
    return { beta, profile, cost, width: quantile(widths, widths.length, 0.5) };
  };
  let best: Trial | null = null;
  for (const beta of exponents) {
    const trial = tryExponent(beta);
    // One minimum: past it, the rest is worse.
    if (best !== null && trial.cost > 1.3 * best.cost) break;
    if (best === null || trial.cost < best.cost) best = trial;
  }
  if (best === null) return { star: { shape, profile: moffat(usualExponent) }, perLight: 0 };
  for (const factor of [1.18, 1.09, 1.045]) {
    for (const beta of [best.beta / factor, best.beta * factor]) {
      const trial = tryExponent(beta);
      if (trial.cost < best.cost) {
        best = trial;
        break;
      }
    }
  }
  const grow = Math.exp(2 * best.width);
  const fitted: Shape = { xx: shape.xx * grow, xy: shape.xy * grow, yy: shape.yy * grow };
  const star = { shape: fitted, profile: best.profile };
  return { star, perLight: photonNoise(picked, star, reach) };
}

interface Trial {
  readonly beta: number;
  readonly profile: Profile;
  readonly cost: number;
  readonly width: number;
}

interface Calibrator {
  readonly stamp: Stamp;
  readonly fit: StarFit;
  readonly noise: number;
}

function calibrators(
  image: Image, mesh: Background, candidates: Candidates, shape: Shape, ceiling: number, reach: number,
): Calibrator[] {
  const picked: Calibrator[] = [];
  const sums = emptySums();
  const apart = (2 * reach) ** 2;
  const tries = Math.min(candidates.count, 400);
  for (let k = 0; k < tries && picked.length < calibratorsWanted; k++) {
    if (candidates.height[k]! < 10) break;
    const x0 = candidates.x[k]!;
    const y0 = candidates.y[k]!;
    const sky = meshAt(mesh, mesh.level, x0, y0);
    const place = climb(image, x0, y0, shape, sky, sums);
    if (place === null || sums.inside < 0.98) continue;
    const { long, short } = axesOf(whitened(sums, shape));
    if (long > 0.62 || short < 0.35) continue;
    if (picked.some((each) => (each.fit.x - place.x) ** 2 + (each.fit.y - place.y) ** 2 < apart)) continue;
    const stamp = makeStamp();
    cutStamp(image, place.x, place.y, Math.ceil(reach), sky, ceiling, stamp);
    const used = stamp.columns * stamp.rows;
    if (stamp.values.subarray(0, used).some(Number.isNaN)) continue;
    const fit = newFit(place.x, place.y, sums.light / sums.weight);
    picked.push({ stamp, fit, noise: noiseAt(mesh, x0, y0) });
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

/** Light up to this many electrons tells the gain; more shows how little the model fits instead. */
const tellingElectrons = 1000;

/** Slope of the squared residuals against the light, reweighted until it settles. */
function photonNoise(picked: readonly Calibrator[], star: StarModel, reach: number): number {
  const lights: number[] = [];
  const squares: number[] = [];
  const skies: number[] = [];
  for (const each of picked) {
    const fit = { ...each.fit };
    const residuals = new Float64Array(each.stamp.values.length);
    const models = new Float64Array(each.stamp.values.length);
    const noise = { sky: each.noise, perLight: 0.0004 * each.fit.peak };
    fitStar(each.stamp, star, noise, fit, reach, 0.3, 3 * each.noise, residuals, models);
    if (!fit.settled) continue;
    for (let k = 0; k < each.stamp.columns * each.stamp.rows; k++) {
      const r = residuals[k]!;
      if (Number.isNaN(r) || models[k]! < each.noise) continue;
      lights.push(models[k]!);
      squares.push((r * r * fit.pixels) / (fit.pixels - 5));
      skies.push(each.noise * each.noise);
    }
  }
  // The variance for which the squared residuals have the median of their kind: outliers (company) count by number only.
  const ratios = new Float64Array(lights.length);
  const excess = (perLight: number): number => {
    let n = 0;
    for (let k = 0; k < lights.length; k++) {
      const light = lights[k]!;
      if (light > tellingElectrons * perLight) continue;
      if (perLight * light < 0.2 * skies[k]!) continue;
      ratios[n++] = squares[k]! / (skies[k]! + perLight * light);
    }
    return n < 30 ? NaN : quantile(ratios, n, 0.5) / medianSquare;
  };
  const noise = quantile(Float64Array.from(skies), skies.length, 0.5);
  const brightest = lights.reduce((a, b) => Math.max(a, b), 0);
  let best = 0;
  let closest = Infinity;
  const probe = (perLight: number): void => {
    const off = Math.abs(Math.log(excess(perLight)));
    if (off < closest) {
      closest = off;
      best = perLight;
    }
  };
  // From gains at which photons never matter to gains at which they always do; then closer.
  for (let perLight = (0.2 * noise) / brightest; perLight < noise; perLight *= 1.5) probe(perLight);
  for (const factor of [1.22, 1.1, 1.05]) {
    const middle = best;
    probe(middle / factor);
    probe(middle * factor);
  }
  return closest < 0.2 ? best : 0;
}

/** Median of the square of a unit Gaussian deviate. */
const medianSquare = 0.4549364;

/** Full width at half maximum of the common star, px. */
export function modelFwhm(model: FrameModel): number {
  return fwhmOf(model.star.shape);
}
