/**
 * Electrons a second from a star of magnitude 0 through an aperture: about 1000 photons a second, cm² and ångström at
 * magnitude 0 in V (from memory; Bessell 1979, PASP 91, 589 gives 3.6e-20 erg/s/cm²/Hz), over 2500 Å of which half is counted.
 */
export function starlight(apertureMillimetres: number): number {
  return 1000 * 2500 * 0.5 * (Math.PI / 4) * (apertureMillimetres / 10) ** 2;
}

/**
 * Electrons in a pixel from a sky of so many magnitudes to the square arcsecond: 21.5 dark, 20 suburb, 18 city (common values).
 *
 * @param electronsAtMagnitude0 a second, as {@link starlight} gives
 */
export function skylight(
  magnitudePerSquareArcsecond: number, electronsAtMagnitude0: number, exposureSeconds: number, arcsecondsPerPixel: number,
): number {
  return electronsAtMagnitude0 * exposureSeconds * arcsecondsPerPixel ** 2 * Math.pow(10, -0.4 * magnitudePerSquareArcsecond);
}
