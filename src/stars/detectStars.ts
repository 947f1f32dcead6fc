import type { Image } from '../frames/frame.js';
import type { Background } from './background.js';
import { measureBackground, meshAt, noiseAt } from './background.js';
import { findCandidates, spread } from './candidates.js';
import { climb } from './climb.js';
import { cutStamp, fitStar, makeStamp, newFit } from './fitStar.js';
import type { StarFit } from './fitStar.js';
import { lightOf } from './profile.js';
import { quantile } from './quantile.js';
import { findSaturation, saturatedBlob } from './saturation.js';
import { axesOf, commonShape, fwhmOf, fwhmPerSigma } from './shape.js';
import type { DetectedStar } from './star.js';
import { fitReach, measureModel, whitened } from './starModel.js';
import type { FrameModel } from './starModel.js';
import { isStreak } from './streak.js';
import { subtractNeighbour } from './neighbours.js';
import { surroundings } from './surroundings.js';
import type { Shape } from './window.js';
import { emptySums, windowSums } from './window.js';

export interface DetectOptions {
  /** Least height above the sky in the matched-filtered picture, in units of its noise. Default 5; at least 2. */
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
/** FWHM taken where no three stars agree on one, px. */
const usualFwhm = 2.5;
/** Share of the threshold that a candidate must reach in the roughly filtered picture. */
const candidateShare = 0.55;
/** Share of FWHM below which no centroid is trusted, whatever the light: pixels are not perfect squares. */
const centroidFloor = 0.002;

/** A star being measured. */
interface Measured {
  readonly fit: StarFit;
  readonly noise: number;
  readonly sky: number;
  readonly signalToNoise: number;
  readonly elongation: number;
  readonly saturated: boolean;
  /** Distance up to which its pixels take part in its fit, px. */
  readonly reach: number;
  company: boolean;
}

/**
 * Finds the stars of a picture and measures their places.
 *
 * Sky and noise by a mesh of clipped medians (Bertin & Arnouts 1996, A&AS 117, 393); a star is a local maximum of the
 * picture filtered with the common star's own Gaussian, `threshold` times above that picture's noise; the place is a weighted
 * least-squares fit of the common Moffat star (Stetson 1987, PASP 99, 191), which stays near the bound of King 1983 (PASP 95, 163).
 * Hot pixels, cosmic rays, streaks, spikes, bumps on halos and on rims of roofs or trees, and stars cut by the frame's edge
 * are left out; saturated and blended stars are flagged and their sigma is larger.
 * Pixel values of any type; NaN and ±∞ are blank. Throws nothing.
 */
export function detectStars(image: Image, options: DetectOptions = {}): Detection {
  const threshold = Math.max(2, options.threshold ?? 5);
  const limit = options.limit ?? 500;
  const mesh = measureBackground(image);
  if (mesh === null) return { stars: [], background: NaN, noise: NaN, fwhm: NaN };

  let block = 2;
  let candidates = findCandidates(image, mesh, block, candidateShare * threshold);
  const ceiling = findSaturation(image, mesh, candidates);
  const round = (usualFwhm / fwhmPerSigma) ** 2;
  const shape = commonShape(image, mesh, candidates, ceiling, firstWindow) ?? { xx: round, xy: 0, yy: round };
  const wanted = blockFor(shape);
  if (wanted !== block) {
    block = wanted;
    candidates = findCandidates(image, mesh, block, candidateShare * threshold);
  }
  const model = measureModel(image, mesh, candidates, shape, ceiling);
  const correlation = matchedCorrelation(image, mesh, shape);

  const stars = measureCandidates(image, mesh, candidates, { shape, model, ceiling, correlation, threshold, block }, 1.2 * limit + 10);
  separate(image, stars, model, ceiling);
  return {
    stars: stars.map((star) => asStar(star, model)).sort((p, q) => q.flux - p.flux).slice(0, limit),
    background: quantile(mesh.level.slice(), mesh.level.length, 0.5),
    noise: quantile(mesh.noise.slice(), mesh.noise.length, 0.5),
    fwhm: fwhmOf(model.star.shape),
  };
}

/** Blocks of half to one FWHM: smoothed by (1 2 1) they come close to the matched filter. */
function blockFor(shape: Shape): number {
  return 2 ** Math.max(0, Math.min(4, Math.round(Math.log2(fwhmOf(shape) / 1.35) - 0.5)));
}

interface Conditions {
  /** Of the matching Gaussian. */
  readonly shape: Shape;
  readonly model: FrameModel;
  readonly ceiling: number;
  /** Noise of the matched-filtered picture over that of independent pixels. */
  readonly correlation: number;
  readonly threshold: number;
  readonly block: number;
}

function measureCandidates(
  image: Image, mesh: Background, candidates: ReturnType<typeof findCandidates>, conditions: Conditions, enough: number,
): Measured[] {
  const { shape, model, ceiling, correlation, threshold, block } = conditions;
  const stars: Measured[] = [];
  const sums = emptySums();
  const stamp = makeStamp();
  const { long } = axesOf(shape);
  const longFwhm = fwhmPerSigma * Math.sqrt(long);
  const taken = makePlaces(Math.max(1, 0.5 * fwhmOf(shape)));
  const blobs: { x: number; y: number; radius: number }[] = [];
  const reach = fitReach * fwhmPerSigma * Math.sqrt(axesOf(model.star.shape).long);
  const elongation = Math.sqrt(long / axesOf(shape).short);
  for (let k = 0; k < candidates.count && stars.length < enough; k++) {
    const x0 = candidates.x[k]!;
    const y0 = candidates.y[k]!;
    const meshSky = meshAt(mesh, mesh.level, x0, y0);
    const noise = noiseAt(mesh, x0, y0);
    if (blobs.some((blob) => (blob.x - x0) ** 2 + (blob.y - y0) ** 2 < blob.radius * blob.radius)) continue;

    const blob = saturatedBlob(image, x0, y0, block, ceiling);
    if (blob !== null) {
      blobs.push({ x: blob.x, y: blob.y, radius: blob.radius + longFwhm });
      if (!blob.whole) continue;
      const far = blob.radius + 2 * longFwhm;
      cutStamp(image, blob.x, blob.y, Math.ceil(far), meshSky, ceiling, stamp);
      const fit = newFit(blob.x, blob.y, 2 * (ceiling - meshSky));
      fitStar(stamp, model.star, { sky: noise, perLight: model.perLight }, fit, far, 1, 10 * noise);
      // The wings' centre and the blob's differ by bleeding and reflections; who knows which is right.
      const off = Math.hypot(fit.x - blob.x, fit.y - blob.y);
      const good = fit.settled && off < 0.5 * blob.radius + 0.5;
      const floor = good ? 0.3 * off + 0.02 * blob.radius : 0.3 * blob.radius;
      if (!good) Object.assign(fit, newFit(blob.x, blob.y, 2 * (ceiling - meshSky)));
      fit.sigmaX = Math.hypot(good ? fit.sigmaX : 0, floor);
      fit.sigmaY = Math.hypot(good ? fit.sigmaY : 0, floor);
      stars.push({
        fit, noise, sky: meshSky, signalToNoise: candidates.height[k]!, elongation: blob.elongation,
        saturated: true, reach: far, company: false,
      });
      continue;
    }

    const place = climb(image, x0, y0, shape, meshSky, sums);
    if (place === null || sums.inside < 0.85) continue;
    const { x, y } = place;
    if (!(sums.light / (noise * correlation * Math.sqrt(sums.weight)) >= threshold)) continue;
    if (!taken.claim(x, y)) continue;

    // All light in one pixel rises higher above the noise there than in the filtered picture; a star's does not.
    const peak = brightestNear(image, x, y);
    if ((peak - meshSky) * Math.sqrt(sums.weight) > sums.light) continue;

    const around = surroundings(image, x, y, 2.2 * longFwhm, 3.2 * longFwhm + 1);
    let sky = meshSky;
    let localNoise = noise;
    if (around.pixels >= 12) {
      if (Math.abs(around.level - meshSky) > (4 * around.noise) / Math.sqrt(around.pixels)) {
        sky = around.level;
        windowSums(image, x, y, shape, sky, Infinity, sums);
      }
      localNoise = Math.max(noise, around.noise);
    }
    const signalToNoise = sums.light / (localNoise * correlation * Math.sqrt(sums.weight));
    if (!(signalToNoise >= threshold)) continue;
    const ratio = axesOf(whitened(sums, shape));
    // A star of the common shape has ½ in both directions; noise scatters that by about 1 / signal to noise.
    const scatter = 1.5 / signalToNoise;
    if (ratio.short > 0.72 + scatter || ratio.long < 0.25 - scatter) continue;
    const moments = { xx: sums.xx, xy: sums.xy, yy: sums.yy };
    const light = sums.light;
    if (ratio.long > 0.6 && isStreak(image, x, y, moments, shape, sky, light, sums)) continue;

    cutStamp(image, x, y, Math.ceil(reach), sky, ceiling, stamp);
    const fit = newFit(x, y, light / sums.weight);
    fitStar(stamp, model.star, { sky: localNoise, perLight: model.perLight }, fit, reach, 0.15, 0.3 * localNoise);
    if (!fit.settled || Math.hypot(fit.x - x, fit.y - y) > 0.5 * longFwhm) continue;
    stars.push({ fit, noise: localNoise, sky, signalToNoise, elongation: Math.sqrt(deconvolved(ratio)) * elongation, saturated: false, reach, company: false });
  }
  return stars;
}

/** Long over short variance of a star whose moments under its matched window are these. */
function deconvolved(ratio: { long: number; short: number }): number {
  const variance = (m: number): number => 1 / Math.max(0.05, 1 / Math.max(m, 0.02) - 1);
  return variance(ratio.long) / variance(ratio.short);
}

/** Fits stars that stand close together anew, each with the others' light taken away. */
function separate(image: Image, stars: Measured[], model: FrameModel, ceiling: number): void {
  const stamp = makeStamp();
  const fwhm = fwhmPerSigma * Math.sqrt(axesOf(model.star.shape).long);
  const near = neighboursOf(stars, (p) => p.reach + 2.5 * fwhm);
  for (let round = 0; round < 2; round++) {
    stars.forEach((star, k) => {
      const others = near[k]!;
      if (others.length === 0 || star.saturated) return;
      const { fit } = star;
      cutStamp(image, fit.x, fit.y, Math.ceil(star.reach), star.sky, ceiling, stamp);
      for (const other of others) subtractNeighbour(stamp, model.star, stars[other]!.fit);
      const again = { ...fit };
      fitStar(stamp, model.star, { sky: star.noise, perLight: model.perLight }, again, star.reach, 0.15, 0.3 * star.noise);
      if (again.settled && Math.hypot(again.x - fit.x, again.y - fit.y) < fwhm) Object.assign(fit, again);
    });
  }
  stars.forEach((star, k) => {
    for (const other of near[k]!) {
      const { fit } = stars[other]!;
      const distance = Math.hypot(fit.x - star.fit.x, fit.y - star.fit.y);
      if (distance < 2 * fwhm && fit.peak > 0.05 * star.fit.peak) star.company = true;
    }
  });
}

/** Indices of the stars within `radius` of each star, found by sorting along y. */
function neighboursOf(stars: readonly Measured[], radius: (star: Measured) => number): number[][] {
  const order = stars.map((_, k) => k).sort((p, q) => stars[p]!.fit.y - stars[q]!.fit.y);
  const near: number[][] = stars.map(() => []);
  for (let i = 0; i < order.length; i++) {
    const p = order[i]!;
    for (let j = i + 1; j < order.length; j++) {
      const q = order[j]!;
      const dy = stars[q]!.fit.y - stars[p]!.fit.y;
      const dx = stars[q]!.fit.x - stars[p]!.fit.x;
      const reach = Math.max(radius(stars[p]!), radius(stars[q]!));
      if (dy > 3 * radius(stars[p]!) + 60) break;
      if (dx * dx + dy * dy > reach * reach) continue;
      near[p]!.push(q);
      near[q]!.push(p);
    }
  }
  return near;
}

function asStar(star: Measured, model: FrameModel): DetectedStar {
  const { fit } = star;
  const width = Math.exp(fit.logWidth);
  const fwhm = fwhmOf(model.star.shape) * width;
  // What the fit leaves over beyond the noise is light the model does not know of; it pulls in proportion.
  const excess = Math.max(1, fit.chi2);
  const sigma = Math.hypot(Math.sqrt(((fit.sigmaX ** 2 + fit.sigmaY ** 2) / 2) * excess), centroidFloor * fwhm);
  return {
    x: fit.x, y: fit.y, sigma,
    flux: fit.peak * lightOf(model.star.profile, model.star.shape) * width * width,
    signalToNoise: star.signalToNoise,
    fwhm,
    elongation: star.elongation,
    saturated: star.saturated,
    blended: star.company || fit.chi2 > 4,
  };
}

/** Places taken so far, on a grid, so that two candidates that climb to one maximum give one star. */
function makePlaces(near: number): { claim(x: number, y: number): boolean } {
  const cells = new Map<number, number[]>();
  return {
    claim(x, y) {
      const i = Math.floor(x / near);
      const j = Math.floor(y / near);
      for (let v = j - 1; v <= j + 1; v++) {
        for (let u = i - 1; u <= i + 1; u++) {
          const there = cells.get(v * 131072 + u);
          if (there === undefined) continue;
          for (let k = 0; k < there.length; k += 2) if (Math.hypot(there[k]! - x, there[k + 1]! - y) < near) return false;
        }
      }
      const key = j * 131072 + i;
      const cell = cells.get(key);
      if (cell === undefined) cells.set(key, [x, y]);
      else cell.push(x, y);
      return true;
    },
  };
}

function brightestNear(image: Image, x: number, y: number): number {
  const { width, height, data } = image;
  let peak = -Infinity;
  for (let v = Math.max(0, Math.round(y) - 1); v <= Math.min(height - 1, Math.round(y) + 1); v++) {
    for (let u = Math.max(0, Math.round(x) - 1); u <= Math.min(width - 1, Math.round(x) + 1); u++) {
      const value = data[v * width + u]!;
      if (value > peak && value < Infinity) peak = value;
    }
  }
  return peak;
}

/** Places probed for the noise of the matched-filtered picture. */
const probes = 2500;

/** How much noisier the matched-filtered picture is than with independent pixels, from a grid of probed places. */
function matchedCorrelation(image: Image, mesh: Background, shape: Shape): number {
  const sums = emptySums();
  const { width, height } = image;
  const step = Math.max(1, Math.sqrt((width * height) / probes));
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
