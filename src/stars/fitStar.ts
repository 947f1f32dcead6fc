import type { Image } from '../frames/frame.js';
import type { Slope } from './background.js';
import { perUnit } from './profile.js';
import type { Profile, StarModel } from './profile.js';
import type { Shape } from './window.js';

/** Pixels around a star, cut out once, so that the fit's rounds read flat numbers whatever the picture's type. */
export interface Stamp {
  /** Pixel of the first value. */
  left: number;
  top: number;
  columns: number;
  rows: number;
  /** Light above the mesh's sky, [v * columns + u]; NaN does not count. */
  values: Float64Array;
}

/** What a fit starts from and returns. Place in pixels of the picture; `peak`, `sky` in its units above the mesh's sky. */
export interface StarFit {
  x: number;
  y: number;
  peak: number;
  sky: number;
  /** Natural logarithm of the star's width over the common width. */
  logWidth: number;
  /** One-sigma errors as the noise model gives them, px. */
  sigmaX: number;
  sigmaY: number;
  /** Mean squared residual over its expectation. */
  chi2: number;
  /** Pixels that took part. */
  pixels: number;
  settled: boolean;
}

/** Noise of a pixel: variance = sky² + perLight · light, the units of the picture. */
export interface NoiseModel {
  readonly sky: number;
  /** Variance for one unit of light: the inverse gain. */
  readonly perLight: number;
}

export function makeStamp(): Stamp {
  return { left: 0, top: 0, columns: 0, rows: 0, values: new Float64Array(0) };
}

/**
 * Cuts a square out of the picture, subtracting a sky of level `sky` at (x, y) that rises by `slope` a pixel. Blank pixels and pixels
 * at or above `ceiling` become NaN.
 */
export function cutStamp(
  image: Image, x: number, y: number, reach: number, sky: number, slope: Slope, ceiling: number, stamp: Stamp,
): void {
  const { width, height, data } = image;
  const left = Math.max(0, Math.round(x) - reach);
  const right = Math.min(width - 1, Math.round(x) + reach);
  const top = Math.max(0, Math.round(y) - reach);
  const bottom = Math.min(height - 1, Math.round(y) + reach);
  const columns = Math.max(0, right - left + 1);
  const rows = Math.max(0, bottom - top + 1);
  stamp.left = left;
  stamp.top = top;
  stamp.columns = columns;
  stamp.rows = rows;
  if (stamp.values.length < columns * rows) stamp.values = new Float64Array(columns * rows);
  const values = stamp.values;
  let k = 0;
  for (let v = top; v <= bottom; v++) {
    let below = sky + slope.y * (v - y) + slope.x * (left - x);
    for (let u = left; u <= right; u++) {
      const value = data[v * width + u]!;
      values[k++] = value < ceiling && value - value === 0 ? value - below : NaN;
      below += slope.x;
    }
  }
}

/** Number of a fit's parameters: x, y, peak, sky, logWidth. */
const P = 5;

/** The model star and its derivatives at a stamp's usable pixels, flat and reused from fit to fit. */
export interface Pixels {
  count: number;
  /** Where in the stamp each is. */
  index: Int32Array;
  /** Data above the mesh's sky; the model's light; its derivatives to x, y, peak, logWidth. */
  values: Float64Array;
  light: Float64Array;
  byX: Float64Array;
  byY: Float64Array;
  byPeak: Float64Array;
  byWidth: Float64Array;
}

function makePixels(capacity: number): Pixels {
  const array = (): Float64Array => new Float64Array(capacity);
  return {
    count: 0, index: new Int32Array(capacity), values: array(), light: array(),
    byX: array(), byY: array(), byPeak: array(), byWidth: array(),
  };
}

/** Memory that fits use one after the other: a frame has thousands of them. */
export interface FitWorkspace {
  pixels: Pixels;
  /** The normal matrix, later its Cholesky factor (upper triangle), and the right-hand side, later the solution. */
  readonly matrix: Float64Array;
  readonly vector: Float64Array;
}

export function makeFitWorkspace(): FitWorkspace {
  return { pixels: makePixels(1024), matrix: new Float64Array(P * P), vector: new Float64Array(P) };
}

/** What bounds a fit. */
export interface FitBounds {
  /** Pixels farther than this from the start take no part, px. */
  readonly reach: number;
  /** Prior one-sigma of logWidth. */
  readonly widthSpread: number;
  /** Prior one-sigma of the sky about the mesh's, units of the picture. */
  readonly skySpread: number;
}

/**
 * Weighted least squares of the common star with free place, height, sky and width, by Gauss-Newton from `fit`'s values;
 * near the Cramér-Rao bound where the noise model holds (King 1983, PASP 95, 163; Stetson 1987, PASP 99, 191).
 * Returns the pixels of the last round, which lie in the workspace: valid until its next fit.
 */
export function fitStar(
  stamp: Stamp, model: StarModel, noise: NoiseModel, fit: StarFit, { reach, widthSpread, skySpread }: FitBounds, workspace: FitWorkspace,
): Pixels {
  const size = stamp.columns * stamp.rows;
  if (workspace.pixels.values.length < size) workspace.pixels = makePixels(2 * size);
  const { pixels, matrix: H, vector: g } = workspace;
  const { shape } = model;
  const longestStep = Math.pow(shape.xx * shape.yy - shape.xy * shape.xy, 0.25);
  // The pixels that take part stay the same from round to round: the sum would jump where one entered.
  const { x: startX, y: startY } = fit;
  fit.settled = false;
  for (let round = 0; round < 15; round++) {
    evaluate(stamp, model, fit, startX, startY, reach, pixels);
    fit.pixels = pixels.count;
    if (pixels.count < P + 1) break;
    fit.chi2 = accumulate(pixels, noise, fit.sky, H, g) / (pixels.count - P);
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
    // A step well below the error changes nothing that matters.
    if (stepX * stepX + stepY * stepY < 4e-4 * (fit.sigmaX * fit.sigmaX + fit.sigmaY * fit.sigmaY)
      && Math.abs(stepWidth) < 0.01 && Math.abs(stepPeak) < 0.02 * fit.peak) {
      fit.settled = true;
      break;
    }
  }
  return pixels;
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

/** Gauss-Legendre points and weights that integrate over a pixel in one direction: the narrower the star, the more. */
const rules: readonly { readonly at: readonly number[]; readonly share: readonly number[] }[] = [
  { at: [0], share: [1] },
  { at: [-0.5 / Math.sqrt(3), 0.5 / Math.sqrt(3)], share: [0.5, 0.5] },
  { at: [-0.5 * Math.sqrt(0.6), 0, 0.5 * Math.sqrt(0.6)], share: [5 / 18, 8 / 18, 5 / 18] },
];

/** The rule for a star of this shape, by its variance along the short axis. */
export function pixelRule(shape: Shape): { readonly at: readonly number[]; readonly share: readonly number[] } {
  const narrow = Math.min(shape.xx, shape.yy);
  return rules[narrow < 0.55 ? 2 : narrow < 1.6 ? 1 : 0]!;
}

/** Fills `out` with the model at the pixels within `reach` of the start that have a value. */
function evaluate(
  stamp: Stamp, model: StarModel, fit: StarFit, startX: number, startY: number, reach: number, out: Pixels,
): void {
  const { shape, profile } = model;
  const det = shape.xx * shape.yy - shape.xy * shape.xy;
  const scale = Math.exp(-2 * fit.logWidth) / det;
  const ia = shape.yy * scale;
  const ib = -shape.xy * scale;
  const ic = shape.xx * scale;
  const { at, share } = pixelRule(shape);
  const points = at.length;
  const { peak } = fit;
  let n = 0;
  for (let v = 0; v < stamp.rows; v++) {
    const dy = stamp.top + v - fit.y;
    const y = stamp.top + v - startY;
    const across = Math.sqrt(Math.max(0, reach * reach - y * y));
    const first = Math.max(0, Math.ceil(startX - across) - stamp.left);
    const last = Math.min(stamp.columns - 1, Math.floor(startX + across) - stamp.left);
    for (let u = first; u <= last; u++) {
      const value = stamp.values[v * stamp.columns + u]!;
      if (value !== value) continue;
      const dx = stamp.left + u - fit.x;
      out.values[n] = value;
      out.index[n] = v * stamp.columns + u;
      out.byPeak[n] = 0;
      out.byX[n] = 0;
      out.byY[n] = 0;
      out.byWidth[n] = 0;
      for (let j = 0; j < points; j++) {
        for (let i = 0; i < points; i++) addPoint(profile, ia, ib, ic, dx + at[i]!, dy + at[j]!, share[i]! * share[j]!, out, n);
      }
      out.byX[n] = out.byX[n]! * peak;
      out.byY[n] = out.byY[n]! * peak;
      out.byWidth[n] = out.byWidth[n]! * peak;
      out.light[n] = out.byPeak[n]! * peak;
      n++;
    }
  }
  out.count = n;
}

/** Adds the profile and its derivatives at one point, weighted, for a star of peak 1. */
function addPoint(
  profile: Profile, ia: number, ib: number, ic: number, dx: number, dy: number, weight: number, out: Pixels, n: number,
): void {
  const ax = ia * dx + ib * dy;
  const ay = ib * dx + ic * dy;
  const q = ax * dx + ay * dy;
  const at = q * perUnit;
  const i = at | 0;
  let p: number;
  let slope: number;
  if (at < profile.values.length - 2) {
    const f = at - i;
    p = profile.values[i]! + f * (profile.values[i + 1]! - profile.values[i]!);
    slope = profile.slopes[i]! + f * (profile.slopes[i + 1]! - profile.slopes[i]!);
  } else {
    const base = 1 + profile.c * q;
    p = Math.pow(base, -profile.beta);
    slope = (-profile.beta * profile.c * p) / base;
  }
  const twice = -2 * slope * weight;
  out.byPeak[n] = out.byPeak[n]! + weight * p;
  out.byX[n] = out.byX[n]! + twice * ax;
  out.byY[n] = out.byY[n]! + twice * ay;
  out.byWidth[n] = out.byWidth[n]! + twice * q;
}

/** Normal equations of one round into H (upper triangle) and g; returns the weighted sum of squared residuals. */
function accumulate(pixels: Pixels, noise: NoiseModel, sky: number, H: Float64Array, g: Float64Array): number {
  const { values, light, byX, byY, byPeak, byWidth, count } = pixels;
  const variance = noise.sky * noise.sky;
  let xx = 0, xy = 0, xp = 0, x1 = 0, xw = 0, yy = 0, yp = 0, y1 = 0, yw = 0;
  let pp = 0, p1 = 0, pw = 0, one = 0, w1 = 0, ww = 0;
  let rx = 0, ry = 0, rp = 0, r1 = 0, rw = 0, squares = 0;
  for (let k = 0; k < count; k++) {
    const l = light[k]!;
    const x = byX[k]!;
    const y = byY[k]!;
    const p = byPeak[k]!;
    const w = byWidth[k]!;
    const weight = 1 / (variance + (l > 0 ? noise.perLight * l : 0));
    const r = values[k]! - l - sky;
    const a = weight * x;
    const b = weight * y;
    const c = weight * p;
    const d = weight * w;
    xx += a * x; xy += a * y; xp += a * p; x1 += a; xw += a * w;
    yy += b * y; yp += b * p; y1 += b; yw += b * w;
    pp += c * p; p1 += c; pw += c * w;
    one += weight; w1 += d; ww += d * w;
    rx += a * r; ry += b * r; rp += c * r; r1 += weight * r; rw += d * r;
    squares += weight * r * r;
  }
  H.fill(0);
  H[0] = xx; H[1] = xy; H[2] = xp; H[3] = x1; H[4] = xw;
  H[6] = yy; H[7] = yp; H[8] = y1; H[9] = yw;
  H[12] = pp; H[13] = p1; H[14] = pw;
  H[18] = one; H[19] = w1; H[24] = ww;
  g[0] = rx; g[1] = ry; g[2] = rp; g[3] = r1; g[4] = rw;
  return squares;
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
