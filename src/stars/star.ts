/** A star found in a picture. */
export interface DetectedStar {
  /** Centroid, pixels, 0-based, centre of the first stored pixel = 0. */
  readonly x: number;
  readonly y: number;
  /** One-sigma error of the centroid in each coordinate, pixels, from photons and background. */
  readonly sigma: number;
  /** Light above the background, in units of the pixel values. */
  readonly flux: number;
  /** Signal to noise ratio of the detection in the matched-filtered picture. */
  readonly signalToNoise: number;
  /** Full width at half maximum, pixels. */
  readonly fwhm: number;
  /** Long axis over short axis, 1 = round. */
  readonly elongation: number;
  /** True where pixels reached the ceiling: the centroid and flux are then poor. */
  readonly saturated: boolean;
  /** True where another star's light overlaps. */
  readonly blended: boolean;
}
