import type { Image } from '../frames/frame.js';
import type { Background } from './background.js';
import { measureBackground, meshAt, noiseAt } from './background.js';
import { findCandidates, spread } from './candidates.js';
import { quantile } from './quantile.js';
import { axesOf, commonShape, fwhmOf, fwhmPerSigma } from './shape.js';
import type { DetectedStar } from './star.js';
import type { Shape } from './window.js';
import { emptySums, windowSums } from './window.js';

export interface DetectOptions {
  /** Least height above the sky in the matched-filtered picture, in units of its noise. Default 5. */
  readonly threshold?: number;
  /** Keep this many of the brightest. Default 500. */
  readonly limit?: number;
}

export interface Detection {
  /** Brightest first. */
  readonly stars: DetectedStar[];
  /** Typical sky level and noise of one pixel, units of the picture; NaN where every pixel is blank. */
  readonly background: number;
  readonly noise: number;
  /** Typical full width at half maximum of the stars, pixels. */
  readonly fwhm: number;
}

/** Sigma of the window the stars' shape is first looked at with, px. */
const firstWindow = 1.5;
const usualFwhm = 2.5;

export function detectStars(image: Image, options: DetectOptions = {}): Detection {
  const threshold = options.threshold ?? 5;
  const limit = options.limit ?? 500;
  const mesh = measureBackground(image);
  if (mesh === null) return { stars: [], background: NaN, noise: NaN, fwhm: NaN };
  const ceiling = image.ceiling ?? Infinity;

  let block = 2;
  let candidates = findCandidates(image, mesh, block, 0.55 * threshold);
  const measured = commonShape(image, mesh, candidates, ceiling, firstWindow);
  const round = (usualFwhm / fwhmPerSigma) ** 2;
  const shape = measured ?? { xx: round, xy: 0, yy: round };
  const wanted = 2 ** Math.max(0, Math.round(Math.log2(fwhmOf(shape) / 1.35) - 0.5));
  if (wanted !== block) {
    block = wanted;
    candidates = findCandidates(image, mesh, block, 0.55 * threshold);
  }
  const correlation = matchedCorrelation(image, mesh, shape);
  const taken = new Set<number>();
  const near = Math.max(1, 0.7 * fwhmOf(shape));
  const stars: DetectedStar[] = [];
  const sums = emptySums();
  const spot = Math.sqrt(axesOf(shape).long);
  for (let k = 0; k < candidates.count && stars.length < 1.25 * limit; k++) {
    let x = candidates.x[k]!;
    let y = candidates.y[k]!;
    const sky = meshAt(mesh, mesh.level, x, y);
    const noise = noiseAt(mesh, x, y);
    for (let round = 0; round < 12; round++) {
      windowSums(image, x, y, shape, sky, Infinity, sums);
      if (!(sums.light > 0)) break;
      const dx = Math.max(-spot, Math.min(spot, 2 * sums.dx));
      const dy = Math.max(-spot, Math.min(spot, 2 * sums.dy));
      x += dx;
      y += dy;
      if (dx * dx + dy * dy < 1e-8) break;
    }
    if (!(sums.light > 0) || sums.inside < 0.85) continue;
    const signalToNoise = sums.light / (noise * correlation * Math.sqrt(sums.weight));
    if (!(signalToNoise >= threshold)) continue;
    if (Math.hypot(x - candidates.x[k]!, y - candidates.y[k]!) > 3 * block + 2 * spot) continue;
    // Everything in one pixel rises further above the noise in that pixel than in the filtered picture; a star less.
    const peak = brightestNear(image, x, y);
    if ((peak - sky) / (noise * correlation) > signalToNoise) continue;
    const key = claimed(taken, x, y, near);
    if (key) continue;
    const dm = { xx: sums.xx, xy: sums.xy, yy: sums.yy };
    const { long } = axesOf(whitened(dm, shape));
    if (long > 0.78 + 1.5 / signalToNoise) continue;
    const amplitude = sums.light / sums.weight;
    const fwhm = fwhmOf(shape);
    const sigma = Math.SQRT2 * (fwhm / fwhmPerSigma) / signalToNoise;
    stars.push({
      x, y, signalToNoise, fwhm,
      sigma: Math.hypot(sigma, 0.005 * fwhm),
      flux: amplitude * 2 * Math.PI * (fwhm / fwhmPerSigma) ** 2,
      elongation: Math.sqrt(axesOf(shape).long / axesOf(shape).short),
      saturated: peak >= ceiling,
      blended: false,
    });
  }
  stars.sort((p, q) => q.flux - p.flux);
  return {
    stars: stars.slice(0, limit),
    background: quantile(mesh.level.slice(), mesh.level.length, 0.5),
    noise: quantile(mesh.noise.slice(), mesh.noise.length, 0.5),
    fwhm: fwhmOf(shape),
  };
}

/** Moments in units of the window's own: a star of the common shape has ½, the open sky 1. */
function whitened(m: Shape, w: Shape): Shape {
  // Cholesky factor of w; L⁻¹ m L⁻ᵀ.
  const l11 = Math.sqrt(w.xx);
  const l21 = w.xy / l11;
  const l22 = Math.sqrt(w.yy - l21 * l21);
  const a = m.xx / l11;
  const b = (m.xy - (l21 * m.xx) / l11) / l22;
  const c = (m.yy - (2 * l21 * m.xy) / l11 + (l21 * l21 * m.xx) / (l11 * l11)) / (l22 * l22);
  return { xx: a / l11, xy: b / l11, yy: c };
}

function claimed(taken: Set<number>, x: number, y: number, near: number): boolean {
  const i = Math.floor(x / near);
  const j = Math.floor(y / near);
  for (let v = j - 1; v <= j + 1; v++) for (let u = i - 1; u <= i + 1; u++) if (taken.has(v * 65536 + u)) return true;
  taken.add(j * 65536 + i);
  return false;
}

function brightestNear(image: Image, x: number, y: number): number {
  const { width, height, data } = image;
  let peak = -Infinity;
  for (let v = Math.max(0, Math.round(y) - 1); v <= Math.min(height - 1, Math.round(y) + 1); v++) {
    for (let u = Math.max(0, Math.round(x) - 1); u <= Math.min(width - 1, Math.round(x) + 1); u++) {
      const value = data[v * width + u]!;
      if (value > peak) peak = value;
    }
  }
  return peak;
}

function matchedCorrelation(image: Image, mesh: Background, shape: Shape): number {
  const sums = emptySums();
  const { width, height } = image;
  const step = Math.max(1, Math.sqrt((width * height) / 3000));
  const values = new Float64Array((Math.ceil(width / step) + 1) * (Math.ceil(height / step) + 1));
  let n = 0;
  for (let y = step / 2; y < height; y += step) {
    for (let x = step / 2; x < width; x += step) {
      const px = Math.floor(x);
      const py = Math.floor(y);
      windowSums(image, px, py, shape, meshAt(mesh, mesh.level, px, py), Infinity, sums);
      if (sums.inside > 0.9) values[n++] = sums.light / (noiseAt(mesh, px, py) * Math.sqrt(sums.weight));
    }
  }
  return spread(values, n);
}
