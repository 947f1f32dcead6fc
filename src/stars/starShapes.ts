import type { Image } from '../frames/frame.js';
import { measureBackground } from './background.js';
import { quickened } from './kernel/quickPixels.js';
import { adaptiveShape, fwhmOf } from './shape.js';
import { emptySums, type Shape } from './windowed.js';

/** A star's second moments as those of the best-matching Gaussian, pixels². */
export interface StarShape extends Shape {
  /** Centroid, pixels of the picture. */
  readonly x: number;
  readonly y: number;
  readonly signalToNoise: number;
}

/** A star to look at. */
export interface StarToShape {
  readonly x: number;
  readonly y: number;
  readonly signalToNoise: number;
  readonly fwhm: number;
  readonly saturated: boolean;
  readonly blended: boolean;
}

/** Fainter stars' moments have noise as large as the effect. */
const TELLING = 20;
const ENOUGH = 400;

/**
 * Second moments of detected stars, measured from the pixels near each: adaptive moments (Bernstein & Jarvis 2002, AJ 123, 583), whose
 * window follows the star's own shape, so that neither sky noise nor faint wings dominate. Saturated, blended and faint stars are left out,
 * and those whose size is far from the common one.
 *
 * @param picture the one the stars were found in
 * @param stars brightest first, in pixels of that picture
 */
export function starShapes(picture: Image, stars: readonly StarToShape[]): StarShape[] {
  const image = quickened(picture);
  const mesh = measureBackground(image);
  if (mesh === null) return [];
  image.quick?.useMesh(mesh);
  const sums = emptySums();
  const found: StarShape[] = [];
  for (const star of stars) {
    if (star.saturated || star.blended || star.signalToNoise < TELLING) continue;
    const start = Math.max(1, star.fwhm / 2.355);
    const shape = adaptiveShape(image, mesh, star.x, star.y, Infinity, start, sums);
    if (shape) found.push({ ...shape, x: star.x, y: star.y, signalToNoise: star.signalToNoise });
    if (found.length === ENOUGH) break;
  }
  const sizes = found.map(fwhmOf).sort((a, b) => a - b);
  const middle = sizes[sizes.length >> 1] ?? 0;
  return found.filter((shape) => Math.abs(Math.log(fwhmOf(shape) / middle)) < 0.5);
}
