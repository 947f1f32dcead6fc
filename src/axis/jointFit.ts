import { apply, inverse, orthonormalize } from '../geometry/rotation.js';
import { type Vector, dot, subtract } from '../geometry/vector.js';
import { cauchyCost, toldByWeight } from '../identify/cauchyLoss.js';
import type { Lens } from '../identify/lens.js';
import { invertSymmetric, solveSymmetric } from '../numeric/normalEquations.js';
import { PROJECTION, project } from '../identify/projection.js';
import { anyBasis } from './axisBasis.js';
import type { Covariance } from './axisResult.js';
import { type Frames, type Layout, type LensChoice, type MountModel, basesOf, layOut, movedModel } from './mountModel.js';
import type { Sightings } from './sightings.js';
import { quickStarPass } from './kernel/quickStarPass.js';
import { SUM, type StarPass, leftOver, plainStarPass } from './starPass.js';

export interface JointFit extends MountModel {
  /** Directions along which the covariances are given. */
  readonly bases: Frames;
  /** Covariance (radians²) of each stance's axis along its basis (up, right), from the star errors alone. */
  readonly axisCovariances: readonly Covariance[];
  /** Covariance (radians²) of each mounting's centre along its basis, for the lens as found: for later frames. */
  readonly centreCovariances: readonly Covariance[];
  /** Robust chi-squared, its expectation if all stated errors were right (positive), and the degrees of freedom. */
  readonly chiSquared: number;
  readonly expected: number;
  readonly freedom: number;
  /**
   * The variance factor: variance of the axis over `axisCovariances`, as the residuals show it; about one where all stated errors are
   * right.
   */
  readonly excess: number;
  /** Root mean square residual in each coordinate of each frame, pixels, outliers left out. */
  readonly rms: readonly number[];
  /** Stars of each frame that took part, outliers left out. */
  readonly used: readonly number[];
  /** Of each sighting: squared residual, pixels²; NaN where the fit has the star behind the camera. */
  readonly residuals2: Float64Array;
  /** Of each star: the degrees of freedom that its own catalogue error takes, 0 to the number of its sightings, in each coordinate. */
  readonly shown: Float64Array;
  /** Fitted catalogue error of each star, radians toward the pole and at right angles: a start for the next fit. */
  readonly starOffsets: Float64Array;
}

/** What is known of a mounting's centre before the frames: from an earlier night, or from a record without stars. */
export interface HeldCentre {
  readonly mounting: number;
  readonly centre: Vector;
  /** Along `anyBasis` of `centre`, radians². */
  readonly covariance: Covariance;
}

/** Prior of the principal point: one sigma of its distance from the picture's centre, share of the width. */
const CENTRE_PRIOR = 0.03;
/** A sensor may be tilted against the lens by this, radians: it looks like a principal point shifted by this many focal lengths. */
const TILT_PRIOR = 0.005;
/** Axes that stay fixed do so within this, radians. */
const AXIS_HELD = 1e-9;
/** Prior of the tangential terms: one sigma about zero. */
const TANGENTIAL_PRIOR = 3e-4;
/** Degrees of freedom that the stated errors are worth when the residuals suggest smaller ones. */
const TRUSTED = 100;
const MOST_ITERATIONS = 15;
const LONGEST_STRETCH = 1.3;
/** Where a step moves no unknown by more than this, sigmas, the iteration ends. */
const SETTLED = 0.01;

/**
 * One weighted least squares over the star positions of all frames: an axis for each stance, a centre for each mounting, a turn for each
 * frame, and the lens they share; Cauchy loss. Each star's catalogue error is an unknown of its own, common to its frames, with its sigma
 * as prior; it is eliminated star by star. Gauss-Newton from a start within some pixels. Returns null where the data do not determine the
 * unknowns.
 *
 * @param most iterations at most
 */
export function jointFit(
  sightings: Sightings, start: MountModel & { readonly starOffsets?: Float64Array }, choice: LensChoice, width: number,
  held: readonly HeldCentre[] = [], most = MOST_ITERATIONS,
): JointFit | null {
  const { stance, mounting, axes, centres, poses } = start;
  let model: MountModel = {
    stance, mounting, axes, centres, poses, lens: choice.lensKnown ? start.lens : withTerms(start.lens, choice.radialTerms),
  };
  const layout = layOut(model, choice);
  const { size } = layout;
  if (2 * sightings.count < size + 2) return null;

  const pass = starPass(sightings, layout, start.starOffsets ?? new Float64Array(2 * sightings.sigma.length));
  const known: Known = { middle: start.lens, width, held, axes: choice.axesHeld ? axes.length : 0 };
  for (let iteration = 0; iteration < most; iteration++) {
    const bases = basesOf(model);
    if (!Number.isFinite(pass.run(model, bases))) return null;
    holdKnown(known, model, bases, layout, pass);
    const step = solveSymmetric(pass.normal, pass.right, size);
    if (!step) return null;
    stretchStep(step, pass);
    pass.moveOffsets(step);
    model = movedModel(model, bases, step, layout);
    if (!(model.lens.focalPixels > 0)) return null;
    // No unknown moves by more sigmas than the root of this, nor does any combination of them.
    if (gainOf(step, pass) < SETTLED ** 2) break;
  }
  model = { ...model, poses: model.poses.map(orthonormalize) };
  const bases = basesOf(model);
  const chiSquared = pass.run(model, bases, true);
  holdKnown(known, model, bases, layout, pass);
  const covariance = invertSymmetric(pass.normal, size);
  if (!covariance || !Number.isFinite(chiSquared)) return null;
  const block = (at: number): Covariance => [
    covariance[at * (size + 1)]!, covariance[at * size + at + 1]!, covariance[(at + 1) * size + at]!, covariance[(at + 1) * (size + 1)]!,
  ];
  return {
    ...model,
    bases,
    axisCovariances: axes.map((_, s) => block(2 * s)),
    centreCovariances: centres.map((_, m) => throughLens(block(layout.centres + 2 * m), covariance, layout, layout.centres + 2 * m)),
    chiSquared,
    expected: expectedCost(sightings, pass),
    freedom: 2 * sightings.count - size,
    excess: excessOf(sightings, pass),
    ...frameResiduals(sightings, model, pass.offsets),
    starOffsets: pass.offsets.slice(),
    shown: pass.shown.slice(),
  };
}

/**
 * The covariance of a centre for a given principal point: a lens whose principal point is wrong shifts the camera's place on the mount
 * equally in all frames, which has no effect.
 */
function throughLens([a, b, , d]: Covariance, all: Float64Array, { middle, size }: Layout, at: number): Covariance {
  if (middle < 0) return [a, b, b, d];
  const c = (row: number, column: number): number => all[row * size + column]!;
  const [p, q, r] = [c(middle, middle), c(middle, middle + 1), c(middle + 1, middle + 1)];
  const determinant = p * r - q * q;
  const taken = (i: number, k: number): number => {
    const [u, v] = [c(at + i, middle), c(at + i, middle + 1)];
    const [x, y] = [c(at + k, middle), c(at + k, middle + 1)];
    return (u * (r * x - q * y) + v * (p * y - q * x)) / determinant;
  };
  const across = b - taken(0, 1);
  return [a - taken(0, 0), across, across, d - taken(1, 1)];
}

/** Passes for a fit of these sightings, their own offsets begun at `offsets`. */
function starPass(sightings: Sightings, layout: Layout, offsets: Float64Array): StarPass {
  return quickStarPass(sightings, layout, offsets) ?? plainStarPass(sightings, layout, offsets);
}

/** The fall in chi-squared that the first step from a fit predicts for one more lens term; 0 where it can't be computed. */
export function promisedGain(
  sightings: Sightings, fit: JointFit, choice: LensChoice, width: number, held: readonly HeldCentre[] = [],
): number {
  const model: MountModel = { ...fit, lens: choice.lensKnown ? fit.lens : withTerms(fit.lens, choice.radialTerms) };
  const layout = layOut(model, choice);
  if (2 * sightings.count < layout.size + 2) return 0;
  const bases = basesOf(model);
  const pass = starPass(sightings, layout, fit.starOffsets);
  if (!Number.isFinite(pass.run(model, bases))) return 0;
  holdKnown({ middle: fit.lens, width, held, axes: choice.axesHeld ? model.axes.length : 0 }, model, bases, layout, pass);
  const step = solveSymmetric(pass.normal, pass.right, layout.size);
  if (!step) return 0;
  stretchStep(step, pass);
  return gainOf(step, pass);
}

/** By how much a step lowers chi-squared, as the normal equations predict. */
function gainOf(step: Float64Array, { right }: StarPass): number {
  return step.reduce((sum, s, k) => sum + s * right[k]!, 0);
}

/**
 * With weights that fall with the residuals each step is too short, because the loss curves less than the weights suggest. This lengthens
 * the steps: fully where the residuals are normal, not at all where most stars are still far off.
 */
function stretchStep(step: Float64Array, { sums }: StarPass): void {
  const factor = sums[SUM.weight]! / sums[SUM.slope]!;
  if (!(factor > 1 && factor < LONGEST_STRETCH)) return;
  for (let k = 0; k < step.length; k++) step[k]! *= factor;
}

/** What is known before the stars are used. */
interface Known {
  /** The lens with the expected principal point. */
  readonly middle: Lens;
  readonly width: number;
  readonly held: readonly HeldCentre[];
  /** This many axes stay fixed. */
  readonly axes: number;
}

/** Adds the priors to the normal equations. */
function holdKnown({ middle, width, held, axes }: Known, model: MountModel, bases: Frames, layout: Layout, pass: StarPass): void {
  const { size, normal, right } = pass;
  const holdAt = (at: number, sigma: number, off: number): void => {
    const weight = 1 / sigma ** 2;
    normal[at * (size + 1)]! += weight;
    right[at]! += weight * off;
  };
  for (let k = 0; k < 2 * axes; k++) holdAt(k, AXIS_HELD, 0);
  if (layout.middle >= 0) {
    const sigma = Math.hypot(CENTRE_PRIOR * width, TILT_PRIOR * model.lens.focalPixels);
    holdAt(layout.middle, sigma, middle.centreX - model.lens.centreX);
    holdAt(layout.middle + 1, sigma, middle.centreY - model.lens.centreY);
  }
  if (layout.tangential >= 0) {
    for (let k = 0; k < 2; k++) holdAt(layout.tangential + k, TANGENTIAL_PRIOR, -(model.lens.tangential?.[k] ?? 0));
  }
  for (const centre of held) hold(centre, model, bases, layout.centres, pass);
}

/** Adds the prior of a mounting's centre to the normal equations. */
function hold(
  { mounting, centre, covariance: [a, b, , d] }: HeldCentre, model: MountModel, bases: Frames, from: number,
  { size, normal, right }: StarPass,
): void {
  const determinant = a * d - b * b;
  const weight = [d / determinant, -b / determinant, -b / determinant, a / determinant];
  const along = anyBasis(centre);
  // Both bases span nearly the same plane.
  const t = bases.centres[mounting]!.map((e) => along.map((f) => dot(e, f)));
  const off = along.map((f) => dot(subtract(centre, model.centres[mounting]!), f));
  const at = from + 2 * mounting;
  for (let r = 0; r < 2; r++) {
    for (let i = 0; i < 2; i++) {
      for (let k = 0; k < 2; k++) {
        right[at + r]! += t[r]![i]! * weight[2 * i + k]! * off[k]!;
        for (let c = r; c < 2; c++) normal[(at + r) * size + at + c]! += t[r]![i]! * weight[2 * i + k]! * t[c]![k]!;
      }
    }
  }
}

/** The expectation of the robust chi-squared: of the offsets, which have no loss, and of the residuals. */
function expectedCost({ first, sigma }: Sightings, { size, shown }: StarPass): number {
  let sum = 0;
  for (let g = 0; g < sigma.length; g++) {
    const n = first[g + 1]! - first[g]!;
    sum += 2 * shown[g]! + 2 * n * cauchyCost(leftOver(shown[g]!, n));
  }
  return Math.max(1, sum - size * cauchyCost(1));
}

/**
 * The factor by which the stated errors are too small. Stars far off, mistaken or blended, have almost no weight under the loss and hardly
 * count here either, though they would dominate chi-squared: the variance of an M-estimator is E psi² / (E psi')², see `toldByWeight`.
 */
function excessOf({ first, sigma, count }: Sightings, { size, shown, sums }: StarPass): number {
  let [seen, left] = [0, 0];
  for (let g = 0; g < sigma.length; g++) {
    const n = first[g + 1]! - first[g]!;
    seen += shown[g]!;
    left += n * leftOver(shown[g]!, n);
  }
  const variance = left / count;
  const found = (sums[SUM.influence]! * sums[SUM.weight]!) / sums[SUM.slope]! ** 2 / (1 - Math.min(0.9, size / (2 * count)));
  const ofSightings = variance > 0 ? (found * toldByWeight(variance)) / variance : 1;
  const ofOffsets = seen > 0 ? sums[SUM.offset]! / (2 * seen) : 1;
  const share = seen / count;
  const excess = ofSightings * (1 - share) + ofOffsets * share;
  // A few stars that happen to fit well do not make the answer more certain.
  const freedom = Math.max(0, 2 * count - size);
  return excess >= 1 ? excess : (excess * freedom + TRUSTED) / (freedom + TRUSTED);
}

function withTerms(lens: Lens, terms: number): Lens {
  return { ...lens, radial: Array.from({ length: terms }, (_, k) => lens.radial[k] ?? 0) };
}

function frameResiduals(
  sightings: Sightings, { poses, lens }: MountModel, offsets: Float64Array,
): { rms: number[]; used: number[]; residuals2: Float64Array } {
  const p = new Float64Array(PROJECTION.length);
  const residuals2 = new Float64Array(sightings.count).fill(NaN);
  const sum = poses.map(() => 0);
  const used = poses.map(() => 0);
  const toCamera = poses.map(inverse);
  const { vectors, seen } = sightings;
  for (let g = 0; g < sightings.sigma.length; g++) {
    for (let n = sightings.first[g]!; n < sightings.first[g + 1]!; n++) {
      const frame = sightings.frame[n]!;
      const d = [0, 1, 2].map(
        (k) => vectors[9 * n + k]! + offsets[2 * g]! * vectors[9 * n + 3 + k]! + offsets[2 * g + 1]! * vectors[9 * n + 6 + k]!,
      );
      const c = apply(toCamera[frame]!, d as unknown as Vector);
      if (!project(lens, c[0], c[1], c[2], p)) continue;
      const q = (seen[3 * n]! - p[0]!) ** 2 + (seen[3 * n + 1]! - p[1]!) ** 2;
      residuals2[n] = q;
      if (q > 25 * seen[3 * n + 2]!) continue;
      sum[frame]! += q;
      used[frame]!++;
    }
  }
  return { rms: sum.map((s, i) => Math.sqrt(s / Math.max(1, 2 * used[i]!))), used, residuals2 };
}
