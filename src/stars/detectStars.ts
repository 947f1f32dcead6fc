import type { Image } from '../frames/frame.js';
import { measureBackground } from './background.js';
import { findCandidates } from './candidates.js';
import type { Candidates } from './candidates.js';
import { quickened } from './kernel/quickPixels.js';
import { WIDE_FWHM, withoutLonePixels } from './lonePixels.js';
import { matchedCorrelation } from './matchedNoise.js';
import { measureCandidates } from './measureCandidates.js';
import type { Measured } from './measureCandidates.js';
import { lightOf } from './profile.js';
import { quantile } from './quantile.js';
import { findSaturation } from './saturation.js';
import { separate } from './separate.js';
import { commonShape, fwhmOf, fwhmPerSigma } from './shape.js';
import type { DetectedStar } from './star.js';
import { measureModel } from './starModel.js';
import type { FrameModel } from './starModel.js';
import type { Shape } from './windowed.js';

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

/** Sigma of the window with which the stars' shape is first searched, px. */
const firstWindow = 1.5;
/** FWHM used where no three stars agree on one, px. */
const usualFwhm = 2.5;
/** Share of the threshold that a candidate must reach in the roughly filtered picture. */
const candidateShare = 0.55;
/** No centroid is taken as more certain than this, whatever the light, px: pixels are not perfect squares. */
const centroidFloor = 0.003;

/**
 * Finds the stars of a picture and measures their places.
 *
 * Sky and noise by a mesh of clipped medians (Bertin & Arnouts 1996, A&AS 117, 393); a star is a local maximum of the picture filtered with
 * the common star's own Gaussian, `threshold` times above that picture's noise; the place is a weighted least-squares fit of the common
 * Moffat star (Stetson 1987, PASP 99, 191), which comes near the bound of King 1983 (PASP 95, 163). Hot pixels, cosmic rays, streaks,
 * spikes, bumps on halos and on edges of roofs or trees, and stars cut by the frame's edge are left out; saturated and blended stars are
 * flagged and their sigma is larger. Pixel values of any type; NaN and ±∞ are blank. Throws nothing.
 */
export function detectStars(given: Image, options: DetectOptions = {}): Detection {
  const threshold = Math.max(2, options.threshold ?? 5);
  const limit = options.limit ?? 500;
  const picture = quickened(given);
  const mesh = measureBackground(picture);
  if (mesh === null) return { stars: [], background: NaN, noise: NaN, fwhm: NaN };
  picture.quick?.useMesh(mesh);

  let block = 2;
  let candidates = findCandidates(picture, mesh, block, candidateShare * threshold);
  const ceiling = findSaturation(picture, mesh, candidates);
  const round = (usualFwhm / fwhmPerSigma) ** 2;
  const shape = commonShape(picture, mesh, candidates, ceiling, firstWindow) ?? { xx: round, xy: 0, yy: round };
  const levelled = fwhmOf(shape) > WIDE_FWHM ? withoutLonePixels(picture, mesh) : picture;
  const image = levelled === picture ? picture : quickened(levelled);
  image.quick?.useMesh(mesh);
  const wanted = blockFor(shape);
  // Where blocks of two already gave more bright stars than will be kept, the finer search for faint ones is skipped.
  const plenty = wanted < block && countAbove(candidates, 1.5 * threshold) > 1.5 * limit;
  if ((wanted !== block && !plenty) || image !== picture) {
    block = wanted;
    candidates = findCandidates(image, mesh, block, candidateShare * threshold);
  }
  const model = measureModel(image, mesh, candidates, shape, ceiling);
  const correlation = matchedCorrelation(image, mesh, shape);

  const stars = measureCandidates(image, mesh, candidates, { shape, model, ceiling, correlation, threshold, block }, 1.2 * limit + 10);
  separate(image, stars, model, ceiling);
  return {
    stars: asStars(stars, model).sort((p, q) => q.flux - p.flux).slice(0, limit),
    background: quantile(mesh.level.slice(), mesh.level.length, 0.5),
    noise: quantile(mesh.noise.slice(), mesh.noise.length, 0.5),
    fwhm: fwhmOf(model.star.shape),
  };
}

function countAbove(candidates: Candidates, height: number): number {
  let n = 0;
  while (n < candidates.count && candidates.height[n]! > height) n++;
  return n;
}

/** Blocks of about half a FWHM: smoothed by (1 2 1) they are close to the matched filter. */
function blockFor(shape: Shape): number {
  return 2 ** Math.max(0, Math.min(4, Math.round(Math.log2(fwhmOf(shape) / 1.55))));
}

/** Signal to noise from which a star's width is known to a percent or two. */
const telling = 50;

/**
 * Places, with sigmas enlarged by errors that a fit can't see: light that is not in the model, and a companion too close to separate. A
 * companion at distance d with the share f of the light widens the star by f(1 − f)d² and moves its centre by f·d.
 */
function asStars(stars: readonly Measured[], model: FrameModel): DetectedStar[] {
  const clear = stars.filter((star) => star.signalToNoise > telling && !star.saturated && !star.company);
  const widths = Float64Array.from(clear, (star) => star.fit.logWidth);
  const middle = clear.length < 5 ? 0 : quantile(widths, widths.length, 0.5);
  const deviations = widths.map((w) => Math.abs(w - middle));
  const spread = clear.length < 5 ? Infinity : 1.4826 * quantile(deviations, deviations.length, 0.5);
  const { shape, profile } = model.star;
  const size = Math.sqrt(shape.xx * shape.yy - shape.xy * shape.xy);
  return stars.map((star) => {
    const { fit } = star;
    const width = Math.exp(fit.logWidth);
    const fwhm = fwhmOf(shape) * width;
    const expected = middle + 3 * Math.hypot(spread, 1 / star.signalToNoise);
    const tooWide = !star.saturated && star.signalToNoise > telling && fit.logWidth > expected;
    const hidden = tooWide ? 0.5 * Math.sqrt(size * (Math.exp(2 * fit.logWidth) - Math.exp(2 * expected))) : 0;
    const excess = Math.max(1, fit.chi2);
    const photons = Math.sqrt(((fit.sigmaX ** 2 + fit.sigmaY ** 2) / 2) * excess);
    return {
      x: fit.x,
      y: fit.y,
      sigma: Math.hypot(photons, centroidFloor, hidden),
      flux: fit.peak * lightOf(profile, shape) * width * width,
      signalToNoise: star.signalToNoise,
      fwhm,
      elongation: star.elongation,
      saturated: star.saturated,
      blended: star.company || tooWide || fit.chi2 > 4,
    };
  });
}
