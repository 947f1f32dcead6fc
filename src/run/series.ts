import { median } from '../numeric/median.js';
import { invertSymmetric, solveSymmetric } from '../numeric/normalEquations.js';

/** A value measured in each frame. */
export interface Sample {
  readonly seconds: number;
  readonly value: number;
  /** One sigma by the stars. */
  readonly sigma: number;
}

/** A straight line through samples, with a step wherever the mount was moved. */
export interface Trend {
  /** Per second. */
  readonly rate: number;
  readonly rateSigma: number;
  /** Residual of each sample from its line. */
  readonly residuals: readonly number[];
  /** One-sigma scatter of a sample about its line, beyond its own sigma. */
  readonly scatter: number;
  /** Degrees of freedom of the scatter: the number of samples less that of what was fitted. */
  readonly freedom: number;
}

/**
 * Least-squares line with a step before each sample that begins a new stretch. The scatter beyond the stars' sigmas is taken from the
 * residuals, and where there are few of these also from `expected`, which counts as `EXPECTED_FREEDOM` of them. Where residuals are
 * correlated in time (a gear's error, wind) the rate's sigma grows accordingly.
 *
 * @param stretches number of the stretch each sample belongs to, ascending from 0
 * @param expected usual scatter
 * @returns null where the line has no freedom (fewer than two samples in every stretch)
 */
export function fitTrend(samples: readonly Sample[], stretches: readonly number[], expected: number): Trend | null {
  const last = stretches.at(-1) ?? 0;
  const size = last + 2;
  const middle = samples.reduce((sum, s) => sum + s.seconds, 0) / Math.max(1, samples.length);
  let scatter2 = expected ** 2;
  let solution: Float64Array | null = null;
  let rateVariance = 0;
  let residuals: number[] = [];
  const freedom = samples.length - size;
  for (let round = 0; round < 20; round++) {
    const normal = new Float64Array(size * size), right = new Float64Array(size);
    samples.forEach((s, k) => {
      const weight = 1 / (s.sigma ** 2 + scatter2);
      const at = 1 + stretches[k]!;
      const t = s.seconds - middle;
      normal[0]! += weight * t * t;
      normal[at]! += weight * t;
      normal[at * size + at]! += weight;
      right[0]! += weight * t * s.value;
      right[at]! += weight * s.value;
    });
    solution = solveSymmetric(normal, right, size);
    const inverse = invertSymmetric(normal, size);
    if (!solution || !inverse) return null;
    rateVariance = inverse[0]!;
    residuals = samples.map((s, k) => s.value - solution![0]! * (s.seconds - middle) - solution![1 + stretches[k]!]!);
    const next = scatterVariance(residuals, samples.map((s) => s.sigma), freedom, expected);
    if (Math.abs(next - scatter2) < 1e-6 * next) break;
    scatter2 = next;
  }
  if (!solution) return null;
  const inflation = smallSample(freedom) * Math.sqrt(correlationFactor(residuals, stretches));
  return { rate: solution[0]!, rateSigma: Math.sqrt(rateVariance) * inflation, residuals, scatter: Math.sqrt(scatter2), freedom };
}

/** The expected scatter counts as this many residuals. */
export const EXPECTED_FREEDOM = 3;

/** Variance of the residuals beyond their sigmas, with the expected one as if it had been measured before. */
export function scatterVariance(residuals: readonly number[], sigmas: readonly number[], freedom: number, expected: number): number {
  const squares = residuals.reduce((sum, r) => sum + r * r, 0);
  const own = sigmas.reduce((sum, s) => sum + s * s, 0) / Math.max(1, sigmas.length);
  return Math.max(
    (EXPECTED_FREEDOM * expected ** 2 + Math.max(0, squares - Math.max(0, freedom) * own)) / (EXPECTED_FREEDOM + Math.max(0, freedom)),
    1e-6 * expected ** 2,
  );
}

/** The factor for a scatter estimated from few residuals: the standard deviation of Student's t. */
export function smallSample(freedom: number): number {
  const all = EXPECTED_FREEDOM + Math.max(0, freedom);
  return Math.sqrt(all / (all - 2));
}

/**
 * The factor by which the variance of a mean of correlated residuals exceeds that of independent ones: (1 + r) / (1 − r) of a first-order
 * process.
 */
export function correlationFactor(residuals: readonly number[], stretches: readonly number[]): number {
  let products = 0, squares = 0, pairs = 0;
  residuals.forEach((r, k) => {
    squares += r * r;
    if (k > 0 && stretches[k] === stretches[k - 1]) {
      products += r * residuals[k - 1]!;
      pairs++;
    }
  });
  if (pairs < 5 || squares === 0) return 1;
  // A fitted line reduces correlation: for independent residuals it comes out negative, by about 2/n.
  const r = Math.min(0.9, Math.max(0, (products / pairs) / (squares / residuals.length) + 2 / residuals.length - 1 / Math.sqrt(pairs)));
  return (1 + r) / (1 - r);
}

/** A step exceeds the ordinary moves by this many times their scatter. */
const STEP = 7;

/**
 * Stretches between steps (dithers, slips, guiding jumps): a number for each frame, rising from 0. A step is a move between two
 * frames that is far from the usual one and larger than `least`.
 */
export function stretchesOf(seconds: readonly number[], x: readonly number[], y: readonly number[], least: number): number[] {
  const n = seconds.length;
  const gaps = Array.from({ length: Math.max(0, n - 1) }, (_, k) => Math.max(1e-3, seconds[k + 1]! - seconds[k]!));
  const rate = (v: readonly number[]): number => median(gaps.map((gap, k) => (v[k + 1]! - v[k]!) / gap));
  const rx = rate(x), ry = rate(y);
  const off = gaps.map((gap, k) => Math.hypot(x[k + 1]! - x[k]! - rx * gap, y[k + 1]! - y[k]! - ry * gap));
  const limit = Math.max(least, (STEP * median(off)) / 1.177);
  let stretch = 0;
  return Array.from({ length: n }, (_, k) => {
    if (k > 0 && n > 2 && off[k - 1]! > limit) stretch++;
    return stretch;
  });
}
