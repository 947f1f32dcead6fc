/**
 * How much better a pose explains the detections than chance does (Lang et al. 2010, AJ 139, 1782, section 2.3, with an explicit factor for
 * the prior volume of poses).
 *
 * A pose is accepted only if its Bayes factor against "detections scattered at random" exceeds {@link ACCEPTED_ODDS}, after division by the
 * number of distinct poses.
 */

/**
 * Odds against chance that an identification must reach: a thousand million to one.
 *
 * What that promises. For detections scattered evenly a likelihood ratio exceeds x with a probability of at most 1/x
 * (its mean is 1; Markov's inequality). One trial (a range of scales, a distortion, a distance from the pole) is then
 * accepted falsely at most once in 1e9, and the search of a frame makes 60 trials at either pole: about one frame in ten
 * million at most. Three things are outside that argument: the ratio at the best pose over the number of poses stands for
 * its mean over them, the scatter is taken from the matches themselves, and real stars crowd. So it was measured
 * (`test/identify/study.ts`, part chance) over every pose that was judged, in 1,000 fields of Tycho-2 more than 50° from
 * the poles, 132 evenly scattered ones, and 66 polar ones against the other pole's stars: the highest odds were 49, less
 * than 1 and 81, so that chance fell short by seven powers of ten. The reserve is wanted: a wrong identification is worse
 * than none.
 *
 * Over the whole sky the solid angle that is paid for is that of the sphere, and 13 ranges of scales are tried. Measured with
 * shuffled pictures (`test/identify/anywhereStudy.ts`, part chance): of 1,000, 9° to 50° wide with their scale known, 539 poses
 * were judged, and the highest odds were e to the -3.
 */
export const ACCEPTED_ODDS = 1e9;

export interface Evidence {
  /** Number of detections looked at. */
  readonly detections: number;
  /** Number of catalogue stars predicted inside the frame. */
  readonly predicted: number;
  /** Distances between each matched pair, pixels. */
  readonly distances: ArrayLike<number>;
  /** One-sigma scatter of a true pair in each coordinate, pixels. */
  readonly sigma: number;
  readonly width: number;
  readonly height: number;
}

/** Natural logarithm of the likelihood ratio. Half of the detections may be spurious, and half of the stars hidden. */
export function logLikelihoodRatio(e: Evidence): number {
  if (e.predicted === 0 || e.detections === 0) return -Infinity;
  const real = 0.5 * Math.min(1, e.predicted / e.detections);
  const peak = (real * e.width * e.height) / (e.predicted * 2 * Math.PI * e.sigma * e.sigma);
  let sum = (e.detections - e.distances.length) * Math.log(1 - real);
  for (let i = 0; i < e.distances.length; i++) {
    sum += Math.log(1 - real + peak * Math.exp(-0.5 * (e.distances[i]! / e.sigma) ** 2));
  }
  return sum;
}

/** What was free before the fit. */
export interface Freedom {
  /** Solid angle in which the frame's centre may lie, steradians. */
  readonly solidAngle: number;
  readonly focalPixels: number;
  /** The focal length was searched over this range of its logarithm; 0 = known. */
  readonly logFocalRange: number;
  readonly mirrorKnown: boolean;
  readonly radialTerms: number;
}

/** Natural logarithm of the number of distinct poses and lenses. */
export function logChoices(f: Freedom, width: number, height: number, sigma: number): number {
  const arm = Math.hypot(width, height) / 4;
  const step = sigma * Math.sqrt(2 * Math.PI);
  let sum = Math.log(Math.max(1, (f.solidAngle * f.focalPixels ** 2) / (step * step)));
  sum += Math.log((2 * Math.PI * arm) / step);
  sum += Math.log(Math.max(1, (f.logFocalRange * arm) / step));
  if (!f.mirrorKnown) sum += Math.LN2;
  // Distortion reaches some ten per cent of the radius at the corner.
  sum += f.radialTerms * Math.log(Math.max(1, (0.2 * arm) / step));
  return sum;
}
