import type { Profile, StarModel } from './profile.js';
import { perUnit } from './profile.js';
import type { Stamp } from './stamp.js';
import type { Shape } from './windowed.js';

/** What a fit starts from and returns. Place in pixels of the picture; `peak`, `sky` in its units above the mesh's sky. */
export interface StarFit {
  x: number;
  y: number;
  peak: number;
  sky: number;
  /** Natural logarithm of the star's width over the common width. */
  logWidth: number;
  /** One-sigma errors by the noise model, px. */
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

/** Number of a fit's parameters: x, y, peak, sky, logWidth. */
export const P = 5;

/** The pixels used in a round, and the model's light there; flat, the first `count` are valid. */
export interface Pixels {
  readonly count: number;
  /** Where in the stamp each is. */
  readonly index: Int32Array;
  /** Data above the mesh's sky; the model's light. */
  readonly values: Float64Array;
  readonly light: Float64Array;
}

/** The bounds of a fit. */
export interface FitBounds {
  /** Pixels farther than this from the start are not used, px. */
  readonly reach: number;
  /** Prior one-sigma of logWidth. */
  readonly widthSpread: number;
  /** Prior one-sigma of the sky about the mesh's, units of the picture. */
  readonly skySpread: number;
}

/** Memory that fits share one after the other (a frame has thousands of them), and the function for a round. */
export interface FitRound {
  readonly kind: 'round';
  /** Of the last round. */
  readonly pixels: Pixels;
  /** The normal matrix (upper triangle) of `x, y, peak, sky, logWidth`, and the right-hand side. */
  readonly matrix: Float64Array;
  readonly vector: Float64Array;
  /** The input of the next rounds. */
  begin(stamp: Stamp, model: StarModel): void;
  /**
   * The model at the pixels within `reach` of the start that have a value, and its normal equations. Returns the weighted sum of squared
   * residuals.
   */
  run(fit: StarFit, startX: number, startY: number, reach: number, noise: NoiseModel): number;
}

/** The same where all rounds of a fit are one call. */
export interface WholeFit {
  readonly kind: 'whole';
  /** See `fitStar`. */
  fit(stamp: Stamp, model: StarModel, noise: NoiseModel, fit: StarFit, bounds: FitBounds): Pixels;
  /** See `subtractNeighbour`. */
  subtract(stamp: Stamp, model: StarModel, star: StarFit): void;
}

/** The same with the derivatives. */
interface Derived extends Pixels {
  count: number;
  byX: Float64Array;
  byY: Float64Array;
  byPeak: Float64Array;
  byWidth: Float64Array;
}

function makePixels(capacity: number): Derived {
  const array = (): Float64Array => new Float64Array(capacity);
  return {
    count: 0, index: new Int32Array(capacity), values: array(), light: array(),
    byX: array(), byY: array(), byPeak: array(), byWidth: array(),
  };
}

/** A round in JavaScript. */
export function plainFitRound(): FitRound {
  let pixels = makePixels(1024);
  let stamp: Stamp, model: StarModel;
  const [matrix, vector] = [new Float64Array(P * P), new Float64Array(P)];
  return {
    kind: 'round',
    get pixels() { return pixels; },
    matrix, vector,
    begin(nextStamp, nextModel) {
      [stamp, model] = [nextStamp, nextModel];
      const size = stamp.columns * stamp.rows;
      if (pixels.values.length < size) pixels = makePixels(2 * size);
    },
    run(fit, startX, startY, reach, noise) {
      evaluate(stamp, model, fit, startX, startY, reach, pixels);
      return accumulate(pixels, noise, fit.sky, matrix, vector);
    },
  };
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
  stamp: Stamp, model: StarModel, fit: StarFit, startX: number, startY: number, reach: number, out: Derived,
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
  profile: Profile, ia: number, ib: number, ic: number, dx: number, dy: number, weight: number, out: Derived, n: number,
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
function accumulate(pixels: Derived, noise: NoiseModel, sky: number, H: Float64Array, g: Float64Array): number {
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
