import {
  type FitBounds, type FitRound, type NoiseModel, P, type Pixels, type StarFit, type WholeFit, plainFitRound,
} from './fitRound.js';
import { quickFit } from './kernel/quickFit.js';
import type { StarModel } from './profile.js';
import type { Stamp } from './stamp.js';

/** Memory for fits, used by one after the other. */
export function makeFitWorkspace(): FitWorkspace {
  return quickFit() ?? plainFitRound();
}

export type FitWorkspace = FitRound | WholeFit;

/**
 * Weighted least squares of the common star with free place, height, sky and width, by Gauss-Newton from `fit`'s values; near the
 * Cramér-Rao bound where the noise model holds (King 1983, PASP 95, 163; Stetson 1987, PASP 99, 191). Returns the pixels of the last round,
 * which are in the workspace: valid until its next fit.
 */
export function fitStar(
  stamp: Stamp, model: StarModel, noise: NoiseModel, fit: StarFit, bounds: FitBounds, work: FitWorkspace,
): Pixels {
  if (work.kind === 'whole') return work.fit(stamp, model, noise, fit, bounds);
  const { reach, widthSpread, skySpread } = bounds;
  work.begin(stamp, model);
  const { matrix: H, vector: g } = work;
  const { shape } = model;
  const longestStep = Math.pow(shape.xx * shape.yy - shape.xy * shape.xy, 0.25);
  // The same pixels are used in every round: the sum would jump where one entered.
  const { x: startX, y: startY } = fit;
  fit.settled = false;
  for (let round = 0; round < 15; round++) {
    const squares = work.run(fit, startX, startY, reach, noise);
    fit.pixels = work.pixels.count;
    if (fit.pixels < P + 1) break;
    fit.chi2 = squares / (fit.pixels - P);
    H[18] = H[18]! + 1 / (skySpread * skySpread);
    g[3] = g[3]! - fit.sky / (skySpread * skySpread);
    H[24] = H[24]! + 1 / (widthSpread * widthSpread);
    g[4] = g[4]! - fit.logWidth / (widthSpread * widthSpread);
    if (!factor(H)) break;
    solve(H, g);
    const stepX = clamp(g[0]!, longestStep);
    const stepY = clamp(g[1]!, longestStep);
    const stepWidth = clamp(g[4]!, 0.4);
    const stepPeak = g[2]!;
    fit.x += stepX;
    fit.y += stepY;
    fit.peak += stepPeak;
    fit.sky += g[3]!;
    fit.logWidth += stepWidth;
    const strayed = Math.abs(fit.x - stamp.left - stamp.columns / 2) > stamp.columns
      || Math.abs(fit.y - stamp.top - stamp.rows / 2) > stamp.rows;
    if (!(Math.abs(fit.logWidth) < 2) || !(fit.peak > 0) || strayed) break;
    fit.sigmaX = sigmaOf(0, H, g);
    fit.sigmaY = sigmaOf(1, H, g);
    // A step well below the error changes nothing of importance.
    if (stepX * stepX + stepY * stepY < 4e-4 * (fit.sigmaX * fit.sigmaX + fit.sigmaY * fit.sigmaY)
      && Math.abs(stepWidth) < 0.01 && Math.abs(stepPeak) < 0.02 * fit.peak) {
      fit.settled = true;
      break;
    }
  }
  return work.pixels;
}

function clamp(value: number, most: number): number {
  return Math.max(-most, Math.min(most, value));
}

/** One-sigma error of a parameter, from the factored normal matrix H; overwrites g. */
function sigmaOf(parameter: number, H: Float64Array, g: Float64Array): number {
  g.fill(0);
  g[parameter] = 1;
  solve(H, g);
  return Math.sqrt(g[parameter]!);
}

/** Cholesky factor Uᵀ U in the upper triangle of a P x P matrix, in place; false where it is not positive definite. */
function factor(H: Float64Array): boolean {
  for (let i = 0; i < P; i++) {
    for (let j = i; j < P; j++) {
      let sum = H[i * P + j]!;
      for (let k = 0; k < i; k++) sum -= H[k * P + i]! * H[k * P + j]!;
      if (i === j) {
        if (!(sum > 0)) return false;
        H[i * P + i] = Math.sqrt(sum);
      } else H[i * P + j] = sum / H[i * P + i]!;
    }
  }
  return true;
}

function solve(H: Float64Array, g: Float64Array): void {
  for (let i = 0; i < P; i++) {
    let sum = g[i]!;
    for (let k = 0; k < i; k++) sum -= H[k * P + i]! * g[k]!;
    g[i] = sum / H[i * P + i]!;
  }
  for (let i = P - 1; i >= 0; i--) {
    let sum = g[i]!;
    for (let k = i + 1; k < P; k++) sum -= H[i * P + k]! * g[k]!;
    g[i] = sum / H[i * P + i]!;
  }
}

export function newFit(x: number, y: number, peak: number): StarFit {
  return { x, y, peak, sky: 0, logWidth: 0, sigmaX: NaN, sigmaY: NaN, chi2: NaN, pixels: 0, settled: false };
}
