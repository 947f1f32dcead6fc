import type { Image } from '../frames/frame.js';
import type { Background } from './background.js';
import { meshAt, noiseAt } from './background.js';
import type { Candidates } from './candidates.js';
import { climb } from './climb.js';
import { cutStamp, fitStar, makeStamp, newFit } from './fitStar.js';
import type { StarFit } from './fitStar.js';
import { makePlaces } from './places.js';
import { saturatedBlob } from './saturation.js';
import { axesOf, fwhmOf, fwhmPerSigma } from './shape.js';
import { fitReach, whitened } from './starModel.js';
import type { FrameModel } from './starModel.js';
import { isStreak } from './streak.js';
import { surroundings } from './surroundings.js';
import type { Shape } from './window.js';
import { emptySums, windowSums } from './window.js';

/** A star being measured. */
export interface Measured {
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

export interface Conditions {
  /** Of the matching Gaussian. */
  readonly shape: Shape;
  readonly model: FrameModel;
  readonly ceiling: number;
  /** Noise of the matched-filtered picture over that of independent pixels. */
  readonly correlation: number;
  readonly threshold: number;
  readonly block: number;
}

export function measureCandidates(
  image: Image, mesh: Background, candidates: Candidates, conditions: Conditions, enough: number,
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
    const peak = (brightestNear(image, x, y) - meshSky) / noise;
    if (peak > 1.1 * (sums.light / (noise * Math.sqrt(sums.weight))) + 0.5) continue;

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

