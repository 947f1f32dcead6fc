import { ARCSECOND } from '../geometry/angle.js';

/**
 * What a star sways by itself in an exposure of one second, seen from others a radian away, and how that grows with the distance: the
 * error of the distance of two stars is 1.3″ · θ^0.25 / √T (Lindegren 1980, A&A 89, 41, his summary; from memory).
 */
const OF_TWO_STARS = 1.3 * ARCSECOND;
const BY_DISTANCE = 0.25;
/** An exposure below this, seconds, freezes the air: the law ends. */
const SHORTEST = 0.1;

/**
 * Variance (pixels², each coordinate) with which the air is expected to move each star by itself.
 *
 * @param apart typical distance between the frame's stars, radians
 */
export function imageMotion(apart: number, exposureSeconds: number, focalPixels: number): number {
  const ofTwo = (OF_TWO_STARS * apart ** BY_DISTANCE) / Math.sqrt(Math.max(SHORTEST, exposureSeconds));
  // Half of the variance is each star's.
  return (ofTwo * focalPixels) ** 2 / 2;
}

/** The same for the stars of a picture; null where its exposure is not known. */
export function expectedMotion(
  { width, height }: { readonly width: number; readonly height: number }, exposureSeconds: number | null, focalPixels: number,
): number | null {
  return exposureSeconds === null ? null : imageMotion(Math.hypot(width, height) / 2 / focalPixels, exposureSeconds, focalPixels);
}
