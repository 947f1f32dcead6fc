import { invertSymmetric, solveSymmetric } from '../numeric/normalEquations.js';

/** Positions of the same stars in two pictures, pixels: entry k of each array is one star. */
export interface StarPairs {
  readonly fromX: ArrayLike<number>;
  readonly fromY: ArrayLike<number>;
  readonly toX: ArrayLike<number>;
  readonly toY: ArrayLike<number>;
  /** One-sigma error of the difference in each coordinate, pixels, > 0. */
  readonly sigma: ArrayLike<number>;
}

/** How one picture lies on another: to = centre + shift + scale · rotation · (from − centre), and the distortion beyond that. */
export interface PlaneFit {
  /** Of the centre, pixels. */
  readonly shiftX: number;
  readonly shiftY: number;
  /** From x toward y, radians, -π to π. */
  readonly rotation: number;
  readonly scale: number;
  /** 2x2 matrix, row by row: to = centre + shift + matrix · (from − centre). */
  readonly matrix: readonly [number, number, number, number];
  /** Of shiftX, shiftY and rotation, 3x3 row by row, pixels and radians. */
  readonly covariance: Float64Array;
  /** One-sigma motion of each star in each coordinate beyond its sigma (air, mostly), pixels. */
  readonly wander: number;
  /** Root mean square residual in each coordinate of the stars that are used, pixels. */
  readonly residual: number;
  /** Weight of each star's misfit, 1 = full, 0 = not used. */
  readonly trust: Float64Array;
  readonly used: number;
}

/** With at least this many stars the picture may be sheared: refraction does that, and shear must not look like rotation. */
const SHEAR_FROM = 8;
/** Tukey's constant: misfits beyond it, in sigmas, have no weight (95 % efficient for normal errors; Beaton & Tukey 1974). */
const TUKEY = 4.685;
const ROUNDS = 25;
/** Of normal errors in two coordinates the biweight leaves this share of the mean square, and of the weight. */
const SHRUNK = 0.864;
const WEIGHT_LEFT = 0.872;
const EFFICIENCY = 0.95;

/**
 * Weighted least squares of a similarity, or with eight stars and more of an affine map, whose rotation is that of its polar decomposition:
 * so shear, whatever its cause, does not look like rotation. Robust against wrong pairs (Tukey's biweight). Where the residuals exceed the
 * sigmas, an equal motion of all stars is added to the sigmas.
 *
 * @param centre pixels; the shift is that of this point
 * @param freedomShare share of the residuals' variance left where the compared positions are not independent (1 = independent)
 * @returns null with fewer than three stars, or where all are in one place
 */
export function fitPlane(pairs: StarPairs, centre: { readonly x: number; readonly y: number }, freedomShare = 1): PlaneFit | null {
  const count = pairs.fromX.length;
  if (count < 3) return null;
  const size = count >= SHEAR_FROM ? 6 : 4;
  const trust = new Float64Array(count).fill(1);
  const misfit = new Float64Array(count);
  const rows: [Float64Array, Float64Array] = [new Float64Array(size), new Float64Array(size)];
  const design = (k: number): void => {
    const u = pairs.fromX[k]! - centre.x, v = pairs.fromY[k]! - centre.y;
    const [rx, ry] = rows;
    rx[0] = 1; ry[1] = 1;
    rx[2] = u; rx[3] = size === 6 ? v : -v;
    if (size === 6) { ry[4] = u; ry[5] = v; } else { ry[2] = v; ry[3] = u; }
  };
  let wander = 0;
  let solution: Float64Array | null = null;
  let normal = new Float64Array(0);
  for (let round = 0; round < ROUNDS; round++) {
    normal = new Float64Array(size * size);
    const right = new Float64Array(size);
    for (let k = 0; k < count; k++) {
      const weight = trust[k]! / (pairs.sigma[k]! ** 2 + wander ** 2);
      if (!(weight > 0)) continue;
      design(k);
      const targets = [pairs.toX[k]! - centre.x, pairs.toY[k]! - centre.y];
      rows.forEach((row, axis) => {
        for (let i = 0; i < size; i++) {
          right[i]! += weight * row[i]! * targets[axis]!;
          for (let j = i; j < size; j++) normal[i * size + j]! += weight * row[i]! * row[j]!;
        }
      });
    }
    const next = solveSymmetric(normal, right, size);
    if (!next) return null;
    const settled = solution !== null && next.every((value, i) => Math.abs(value - solution![i]!) < 1e-7 / (i < 2 ? 1 : 1000));
    solution = next;
    if (settled && round > 3) break;
    for (let k = 0; k < count; k++) {
      design(k);
      const [rx, ry] = rows;
      let x = centre.x - pairs.toX[k]!, y = centre.y - pairs.toY[k]!;
      for (let i = 0; i < size; i++) { x += rx[i]! * solution[i]!; y += ry[i]! * solution[i]!; }
      misfit[k] = Math.hypot(x, y);
    }
    wander = wanderOf(misfit, pairs.sigma, trust, size, freedomShare, round === 0);
    for (let k = 0; k < count; k++) {
      // Rayleigh's median is 1.177 sigmas of one coordinate: in each coordinate a misfit counts for its share.
      const share = misfit[k]! / Math.hypot(pairs.sigma[k]!, wander) / (TUKEY * 1.15);
      trust[k] = share >= 1 ? 0 : (1 - share * share) ** 2;
    }
    if (count < 6 && trust.some((t) => t === 0)) trust.fill(1);
  }
  const inverse = solution && invertSymmetric(normal, size);
  if (!solution || !inverse) return null;
  const s = solution;
  const matrix: [number, number, number, number] = size === 6 ? [s[2]!, s[3]!, s[4]!, s[5]!] : [s[2]!, -s[3]!, s[3]!, s[2]!];
  let squares = 0, weights = 0, used = 0;
  for (let k = 0; k < count; k++) {
    squares += trust[k]! * misfit[k]! ** 2 / 2;
    weights += trust[k]!;
    if (trust[k]! > 0.05) used++;
  }
  return {
    shiftX: s[0]!, shiftY: s[1]!, matrix,
    rotation: Math.atan2(matrix[2] - matrix[1], matrix[0] + matrix[3]),
    scale: Math.sqrt(Math.abs(matrix[0] * matrix[3] - matrix[1] * matrix[2])),
    covariance: covarianceOf(inverse, size, matrix, count >= 6),
    wander, trust, used,
    residual: Math.sqrt(squares / Math.max(1e-9, weights)),
  };
}

/** Covariance of shift and rotation from that of the coefficients. */
function covarianceOf(
  inverse: Float64Array, size: number, [a, b, c, d]: readonly [number, number, number, number], robust: boolean,
): Float64Array {
  // rotation = atan2(c − b, a + d)
  const sine = c - b, cosine = a + d;
  const square = sine * sine + cosine * cosine;
  const slope = size === 6
    ? [0, 0, -sine / square, -cosine / square, cosine / square, -sine / square]
    : [0, 0, -2 * sine / square, 2 * cosine / square];
  const jacobian = [[1, 0, 0, 0, 0, 0], [0, 1, 0, 0, 0, 0], slope];
  const out = new Float64Array(9);
  for (let i = 0; i < 3; i++) {
    for (let j = 0; j < 3; j++) {
      let sum = 0;
      for (let k = 0; k < size; k++) for (let l = 0; l < size; l++) sum += jacobian[i]![k]! * inverse[k * size + l]! * jacobian[j]![l]!;
      out[3 * i + j] = sum * (robust ? WEIGHT_LEFT / EFFICIENCY : 1);
    }
  }
  return out;
}

/** The motion that makes chi² equal to the degrees of freedom; at first, before wrong pairs are known, from the median. */
function wanderOf(
  misfit: Float64Array, sigma: ArrayLike<number>, trust: Float64Array, size: number, share: number, rough: boolean,
): number {
  const count = misfit.length;
  if (rough) {
    const sorted = misfit.slice().sort();
    return sorted[count >> 1]! / 1.177 * Math.sqrt((2 * count) / Math.max(1, 2 * count - size));
  }
  let freedom = -size;
  for (let k = 0; k < count; k++) freedom += 2 * trust[k]!;
  freedom *= share;
  if (freedom < 1) return 0;
  const excess = (wander2: number): number => {
    let sum = 0;
    for (let k = 0; k < count; k++) sum += (trust[k]! * misfit[k]! ** 2) / (sigma[k]! ** 2 + wander2);
    return sum / SHRUNK - freedom;
  };
  if (excess(0) <= 0) return 0;
  let low = 0, high = 1e-6;
  while (excess(high) > 0 && high < 1e6) { low = high; high *= 4; }
  for (let i = 0; i < 40; i++) {
    const middle = (low + high) / 2;
    if (excess(middle) > 0) low = middle;
    else high = middle;
  }
  return Math.sqrt((low + high) / 2);
}
