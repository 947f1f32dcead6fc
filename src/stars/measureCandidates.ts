import type { Background, Slope } from './background.js';
import { noSlope, noiseAt, skyAt, slopeAt } from './background.js';
import type { Candidates } from './candidates.js';
import { makeBlobPlaces } from './blobPlaces.js';
import { climb } from './climb.js';
import type { NoiseModel, Pixels, StarFit } from './fitRound.js';
import { type FitWorkspace, fitStar, makeFitWorkspace, newFit } from './fitStar.js';
import type { Picture } from './picture.js';
import { makePlaces } from './places.js';
import type { Places } from './places.js';
import { makeBlobFinder } from './saturatedBlob.js';
import type { Blob } from './saturatedBlob.js';
import { axesOf, fwhmOf, fwhmPerSigma } from './shape.js';
import { fitReach, whitened } from './starModel.js';
import type { FrameModel } from './starModel.js';
import { type Stamp, cutStamp, makeStamp } from './stamp.js';
import { isStreak } from './streak.js';
import { makeRing, surroundings } from './surroundings.js';
import { windowSums } from './window.js';
import { type Shape, type WindowSums, emptySums } from './windowed.js';

/** A star being measured. */
export interface Measured {
  readonly fit: StarFit;
  readonly noise: number;
  readonly sky: number;
  /** Of the sky. */
  readonly slope: Slope;
  readonly signalToNoise: number;
  readonly elongation: number;
  readonly saturated: boolean;
  /** Distance to which its pixels are used in its fit, px. */
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

/** Light around a saturated star exceeds the sky by this many times its noise. */
const wingNoise = 5;

/** The most pixels looked at through windows: a frame that has given all its stars by then is full of something else. */
const mostLooked = 6e8;
/** The most hot pixels around which hidden stars are searched; where there are more, the few hidden stars don't matter. */
const mostLookedAround = 5000;

/** Measures candidates from the highest down until `enough` are stars. */
export function measureCandidates(
  image: Picture, mesh: Background, candidates: Candidates, conditions: Conditions, enough: number,
): Measured[] {
  const { shape, ceiling, block } = conditions;
  const stars: Measured[] = [];
  const workspace = makeWorkspace(conditions);
  const blobs = makeBlobFinder(image, ceiling);
  let hotPixels = 0;
  const takenByBlobs = makeBlobPlaces(image.width, image.height, workspace.longFwhm);
  for (let k = 0; k < candidates.count && stars.length < enough && workspace.sums.looked < mostLooked; k++) {
    const x = candidates.x[k]!;
    const y = candidates.y[k]!;
    if (takenByBlobs.covers(x, y)) continue;
    const lit = ceiling < Infinity ? skyAt(image, mesh, x, y) + wingNoise * noiseAt(mesh, x, y) : Infinity;
    const blob = blobs.at(x, y, block, lit);
    if (blob === 'known') continue;
    if (blob !== null) {
      takenByBlobs.add(blob);
      if (blob.whole) stars.push(saturatedStar(image, mesh, blob, candidates.height[k]!, conditions, workspace));
      continue;
    }
    const found = lookAt(image, mesh, x, y, ceiling, conditions, workspace);
    if (found.kind === 'star') stars.push(found.star);
    if (found.kind !== 'hot pixel' || hotPixels++ >= mostLookedAround) continue;
    // A hot pixel hides fainter stars near it in the roughly filtered picture: search around it with the pixel blanked.
    for (let turn = 0; turn < 8; turn++) {
      const away = 1.5 * block + Math.sqrt(shape.xx);
      const u = x + away * Math.cos((turn * Math.PI) / 4);
      const v = y + away * Math.sin((turn * Math.PI) / 4);
      const hidden = lookAt(image, mesh, u, v, found.value, conditions, workspace);
      if (hidden.kind === 'star') stars.push(hidden.star);
    }
  }
  return stars;
}

interface Workspace {
  readonly sums: WindowSums;
  readonly stamp: Stamp;
  readonly ring: Float64Array;
  readonly fitting: FitWorkspace;
  readonly taken: Places;
  /** FWHM along the long axis, px. */
  readonly longFwhm: number;
  readonly reach: number;
  readonly elongation: number;
}

function makeWorkspace({ shape, model }: Conditions): Workspace {
  const { long, short } = axesOf(shape);
  return {
    sums: emptySums(),
    stamp: makeStamp(),
    ring: makeRing(),
    fitting: makeFitWorkspace(),
    taken: makePlaces(Math.max(1, 0.5 * fwhmOf(shape))),
    longFwhm: fwhmPerSigma * Math.sqrt(long),
    reach: fitReach * fwhmPerSigma * Math.sqrt(axesOf(model.star.shape).long),
    elongation: Math.sqrt(long / short),
  };
}

/** Ring noise this much above the mesh's means that the mesh is wrong here. */
const uneasy = 1.4;

/** What is found at a place; for a lone hot pixel its value. */
type Found =
  | { readonly kind: 'star'; readonly star: Measured }
  | { readonly kind: 'hot pixel'; readonly value: number }
  | { readonly kind: 'nothing' };

const nothing: Found = { kind: 'nothing' };

/** Searches for a star at a place. Pixels of at least `ceiling` are not used. */
function lookAt(
  image: Picture, mesh: Background, x0: number, y0: number, ceiling: number, conditions: Conditions, workspace: Workspace,
): Found {
  const { shape, model, correlation, threshold } = conditions;
  const { sums, stamp, longFwhm, reach } = workspace;
  const meshSky = skyAt(image, mesh, x0, y0);
  const noise = noiseAt(mesh, x0, y0);
  const place = climb(image, x0, y0, shape, meshSky, sums, ceiling, threshold * noise * correlation);
  if (place === null || sums.inside < 0.85) return nothing;
  const { x, y } = place;
  if (!(sums.light / (noise * correlation * Math.sqrt(sums.weight)) >= threshold)) return nothing;
  // If all the light is in one pixel, it is higher above the noise there than in the filtered picture; a star's light is not.
  const brightest = brightestNear(image, x, y, ceiling);
  const filtered = sums.light / (noise * Math.sqrt(sums.weight));
  if ((brightest - meshSky) / noise > 1.1 * filtered + 0.5) return { kind: 'hot pixel', value: brightest };
  if (!workspace.taken.claim(x, y)) return nothing;

  const around = surroundings(image, x, y, 2.2 * longFwhm, 3.2 * longFwhm + 1, workspace.ring);
  let sky = meshSky;
  let slope = slopeAt(image, mesh, x, y);
  let localNoise = noise;
  if (around.pixels >= 12) {
    if (Math.abs(around.level - meshSky) > (4 * around.noise) / Math.sqrt(around.pixels)) {
      sky = around.level;
      // Where the mesh's level is wrong, so is its slope.
      slope = noSlope;
      windowSums(image, x, y, shape, sky, ceiling, sums);
    }
    if (around.noise > uneasy * noise) localNoise = around.noise;
  }
  const signalToNoise = sums.light / (localNoise * correlation * Math.sqrt(sums.weight));
  if (!(signalToNoise >= threshold)) return nothing;
  const ratio = axesOf(whitened(sums, shape));
  // A star of the common shape has ½ in both directions; noise scatters that by about 1 / signal to noise.
  const scatter = 1.5 / signalToNoise;
  if (ratio.short > 0.72 + scatter || ratio.long < 0.25 - scatter) return nothing;
  const moments = { xx: sums.xx, xy: sums.xy, yy: sums.yy };
  const { light, weight } = sums;
  if (ratio.long > 0.6 && isStreak(image, x, y, moments, shape, sky, light, sums)) return nothing;

  cutStamp(image, x, y, Math.ceil(reach), sky, slope, ceiling, stamp);
  const fit = newFit(x, y, light / weight);
  const expected = { sky: localNoise * correlation, perLight: model.perLight };
  const bounds = { reach, widthSpread, skySpread: 0.3 * localNoise };
  const pixels = fitStar(stamp, model.star, expected, fit, bounds, workspace.fitting);
  if (blankOutlier(stamp, pixels, expected, fit)) fitStar(stamp, model.star, expected, fit, bounds, workspace.fitting);
  if (!fit.settled || Math.hypot(fit.x - x, fit.y - y) > 0.5 * longFwhm) {
    // The windowed place, with the error of a window on a noisy sky increased by one half.
    const sigma = (1.5 * Math.SQRT2 * longFwhm) / fwhmPerSigma / signalToNoise;
    Object.assign(fit, newFit(x, y, light / weight), { sigmaX: sigma, sigmaY: sigma, chi2: 1 });
  }
  const elongation = Math.sqrt(deconvolved(ratio)) * workspace.elongation;
  return {
    kind: 'star',
    star: { fit, noise: localNoise * correlation, sky, slope, signalToNoise, elongation, saturated: false, reach, company: false },
  };
}

/** Prior one-sigma of the logarithm of a star's width about the common one: focus changes over a field. */
export const widthSpread = 0.15;

/** A saturated star, from the wings around its blob. */
function saturatedStar(
  image: Picture, mesh: Background, blob: Blob, height: number, { model, ceiling }: Conditions, { stamp, longFwhm, fitting }: Workspace,
): Measured {
  const sky = skyAt(image, mesh, blob.x, blob.y);
  const noise = noiseAt(mesh, blob.x, blob.y);
  const reach = blob.radius + 2 * longFwhm;
  const slope = slopeAt(image, mesh, blob.x, blob.y);
  cutStamp(image, blob.x, blob.y, Math.ceil(reach), sky, slope, ceiling, stamp);
  // At the blob's rim the star is as bright as the ceiling.
  const { shape, profile } = model.star;
  const rim = (blob.radius * blob.radius) / Math.sqrt(shape.xx * shape.yy - shape.xy * shape.xy);
  const start = newFit(blob.x, blob.y, (ceiling - sky) * Math.pow(1 + profile.c * rim, profile.beta));
  const fit = { ...start };
  const bounds = { reach, widthSpread: 1, skySpread: 10 * noise };
  fitStar(stamp, model.star, { sky: noise, perLight: model.perLight }, fit, bounds, fitting);
  // The centres of wings and blob differ by bleeding and reflections; it is unknown which is right.
  const off = Math.hypot(fit.x - blob.x, fit.y - blob.y);
  if (fit.settled && off < 0.5 * blob.radius + 0.5) {
    const floor = 0.3 * off + 0.02 * blob.radius;
    fit.sigmaX = Math.hypot(fit.sigmaX, floor);
    fit.sigmaY = Math.hypot(fit.sigmaY, floor);
  } else {
    Object.assign(fit, start, { sigmaX: 0.3 * blob.radius, sigmaY: 0.3 * blob.radius, chi2: 1 });
  }
  return { fit, noise, sky, slope, signalToNoise: height, elongation: blob.elongation, saturated: true, reach, company: false };
}

/**
 * Blanks the pixel that stands out of a fitted star by more than five sigmas and a third of the star's own light, and
 * carries most of the misfit: a hot pixel or a particle's hit within the star. False where there is none.
 */
function blankOutlier(stamp: Stamp, pixels: Pixels, noise: NoiseModel, fit: StarFit): boolean {
  if (!(fit.chi2 > 2)) return false;
  let total = 0;
  let worst = 0;
  let at = -1;
  for (let k = 0; k < pixels.count; k++) {
    const light = pixels.light[k]!;
    const r = pixels.values[k]! - light - fit.sky;
    const square = (r * r) / (noise.sky * noise.sky + noise.perLight * Math.max(0, light));
    total += square;
    if (r > 0.33 * light && square > worst) {
      worst = square;
      at = k;
    }
  }
  if (at < 0 || worst < 25 || worst < 0.5 * total) return false;
  stamp.values[pixels.index[at]!] = NaN;
  return true;
}

/** Long over short variance of a star whose moments under its matched window are these. */
function deconvolved(ratio: { long: number; short: number }): number {
  const variance = (m: number): number => 1 / Math.max(0.05, 1 / Math.max(m, 0.02) - 1);
  return variance(ratio.long) / variance(ratio.short);
}

/** The greatest value below `ceiling` within a pixel of a place. */
function brightestNear(image: Picture, x: number, y: number, ceiling: number): number {
  const { width, height, data } = image;
  let peak = -Infinity;
  for (let v = Math.max(0, Math.round(y) - 1); v <= Math.min(height - 1, Math.round(y) + 1); v++) {
    for (let u = Math.max(0, Math.round(x) - 1); u <= Math.min(width - 1, Math.round(x) + 1); u++) {
      const value = data[v * width + u]!;
      if (value > peak && value < ceiling) peak = value;
    }
  }
  return peak;
}

