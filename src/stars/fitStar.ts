import type { Image } from '../frames/frame.js';
import { perUnit } from './profile.js';
import type { StarModel } from './profile.js';

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
 * Cuts a square out of the picture, `sky` subtracted. Blank pixels and pixels at or above `ceiling` become NaN.
 */
export function cutStamp(image: Image, x: number, y: number, reach: number, sky: number, ceiling: number, stamp: Stamp): void {
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
    for (let u = left; u <= right; u++) {
      const value = data[v * width + u]!;
      values[k++] = value < ceiling && value - value === 0 ? value - sky : NaN;
    }
  }
}

/** Offsets of the two Gauss-Legendre points that integrate over a pixel in one direction. */
const sub = 0.5 / Math.sqrt(3);

/** Number of a fit's parameters: x, y, peak, sky, logWidth. */
const P = 5;

/**
 * Weighted least squares of the common star with free place, height, sky and width, by Gauss-Newton from `fit`'s values;
 * near the Cramér-Rao bound where the noise model holds (King 1983, PASP 95, 163; Stetson 1987, PASP 99, 191).
 * `reach` in px bounds the pixels used; `widthSpread` is the prior one-sigma of logWidth, `skySpread` that of the sky.
 * `residuals`, if given, takes data − model of every stamp pixel (NaN where unused) and `models` the model's light.
 */
export function fitStar(
  stamp: Stamp, model: StarModel, noise: NoiseModel, fit: StarFit, reach: number, widthSpread: number, skySpread: number,
  residuals?: Float64Array, models?: Float64Array,
): void {
  const { shape, profile } = model;
  const { values: table, slopes, beta, c } = profile;
  const last = table.length - 2;
  const det = shape.xx * shape.yy - shape.xy * shape.xy;
  // Narrow stars change within a pixel: average two by two points of it.
  const fine = Math.min(shape.xx, shape.yy) < 1.6;
  const points = fine ? 2 : 1;
  const H = new Float64Array(P * P);
  const g = new Float64Array(P);
  const { columns, rows, left, top, values } = stamp;
  const reach2 = reach * reach;
  const limit = Math.sqrt(Math.sqrt(det));
  const variance0 = noise.sky * noise.sky;
  fit.settled = false;
  for (let round = 0; round < 12; round++) {
    const { x, y, peak, sky } = fit;
    const scale = Math.exp(-2 * fit.logWidth);
    const ia = (shape.yy / det) * scale;
    const ib = (-shape.xy / det) * scale;
    const ic = (shape.xx / det) * scale;
    H.fill(0);
    g.fill(0);
    let sumSquares = 0;
    let pixels = 0;
    let h00 = 0, h01 = 0, h02 = 0, h03 = 0, h04 = 0, h11 = 0, h12 = 0, h13 = 0, h14 = 0;
    let h22 = 0, h23 = 0, h24 = 0, h33 = 0, h34 = 0, h44 = 0;
    let g0 = 0, g1 = 0, g2 = 0, g3 = 0, g4 = 0;
    for (let v = 0; v < rows; v++) {
      const dy = top + v - y;
      for (let u = 0; u < columns; u++) {
        const k = v * columns + u;
        const value = values[k]!;
        const dx = left + u - x;
        if (residuals !== undefined) residuals[k] = NaN;
        if (value !== value || dx * dx + dy * dy > reach2) continue;
        let m = 0;
        let mx = 0;
        let my = 0;
        let mw = 0;
        for (let s = 0; s < points; s++) {
          const py = fine ? dy + (s === 0 ? -sub : sub) : dy;
          for (let t = 0; t < points; t++) {
            const px = fine ? dx + (t === 0 ? -sub : sub) : dx;
            const ax = ia * px + ib * py;
            const ay = ib * px + ic * py;
            const q = ax * px + ay * py;
            const at = q * perUnit;
            const i = at | 0;
            let p: number;
            let d: number;
            if (i < last) {
              const f = at - i;
              p = table[i]! + f * (table[i + 1]! - table[i]!);
              d = slopes[i]! + f * (slopes[i + 1]! - slopes[i]!);
            } else {
              p = Math.pow(1 + c * q, -beta);
              d = (-beta * c * p) / (1 + c * q);
            }
            m += p;
            mx -= 2 * d * ax;
            my -= 2 * d * ay;
            mw -= 2 * d * q;
          }
        }
        const share = fine ? 0.25 : 1;
        m *= share;
        const light = peak * m;
        const w = 1 / (variance0 + noise.perLight * (light > 0 ? light : 0));
        const r = value - light - sky;
        const ps = peak * share;
        mx *= ps;
        my *= ps;
        mw *= ps;
        if (residuals !== undefined) residuals[k] = r;
        if (models !== undefined) models[k] = light;
        sumSquares += w * r * r;
        pixels++;
        const wx = w * mx;
        const wy = w * my;
        const wm = w * m;
        const ww = w * mw;
        h00 += wx * mx; h01 += wx * my; h02 += wx * m; h03 += wx; h04 += wx * mw;
        h11 += wy * my; h12 += wy * m; h13 += wy; h14 += wy * mw;
        h22 += wm * m; h23 += wm; h24 += wm * mw;
        h33 += w; h34 += ww; h44 += ww * mw;
        g0 += wx * r; g1 += wy * r; g2 += wm * r; g3 += w * r; g4 += ww * r;
      }
    }
    fit.pixels = pixels;
    fit.chi2 = sumSquares / Math.max(1, pixels - P);
    const skyWeight = 1 / (skySpread * skySpread);
    const widthWeight = 1 / (widthSpread * widthSpread);
    h33 += skyWeight;
    g3 -= sky * skyWeight;
    h44 += widthWeight;
    g4 -= fit.logWidth * widthWeight;
    H[0] = h00; H[1] = h01; H[2] = h02; H[3] = h03; H[4] = h04;
    H[6] = h11; H[7] = h12; H[8] = h13; H[9] = h14;
    H[12] = h22; H[13] = h23; H[14] = h24;
    H[18] = h33; H[19] = h34; H[24] = h44;
    g[0] = g0; g[1] = g1; g[2] = g2; g[3] = g3; g[4] = g4;
    if (pixels < P + 1 || !factor(H)) return;
    solve(H, g);
    const stepX = Math.max(-limit, Math.min(limit, g[0]!));
    const stepY = Math.max(-limit, Math.min(limit, g[1]!));
    const stepWidth = Math.max(-0.4, Math.min(0.4, g[4]!));
    fit.x += stepX;
    fit.y += stepY;
    fit.peak += g[2]!;
    fit.sky += g[3]!;
    fit.logWidth += stepWidth;
    if (!(Math.abs(fit.logWidth) < 2) || !(fit.peak > 0) || !(Math.abs(fit.x - (left + columns / 2)) < columns)) return;
    g.fill(0);
    g[0] = 1;
    solve(H, g);
    fit.sigmaX = Math.sqrt(g[0]!);
    g.fill(0);
    g[1] = 1;
    solve(H, g);
    fit.sigmaY = Math.sqrt(g[1]!);
    // A step well below the error changes nothing that matters.
    if (stepX * stepX + stepY * stepY < 4e-4 * (fit.sigmaX * fit.sigmaX + fit.sigmaY * fit.sigmaY)
      && Math.abs(stepWidth) < 0.01 && Math.abs(g[2]!) < 0.02 * fit.peak) {
      fit.settled = true;
      return;
    }
  }
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
