import { PolewardError } from '../error.js';
import { DEGREE } from '../geometry/angle.js';
import { type Rotation, apply, inverse } from '../geometry/rotation.js';
import { type Vector, angleBetween, dot } from '../geometry/vector.js';
import { CAUCHY } from '../identify/cauchyLoss.js';
import { fitPose } from '../identify/fitPose.js';
import type { Identification } from '../identify/identifyFrame.js';
import { MAX_RADIAL_TERMS } from '../identify/projection.js';
import type { Hemisphere, LocalSky } from '../sky/localSky.js';
import { airResponse } from './airResponse.js';
import { axisError } from './axisError.js';
import { type Aim, type AxisResult, type Covariance, axisSigma, frameOnAxis } from './axisResult.js';
import { axisFromPoses } from './axisFromPoses.js';
import { type JointFit, jointFit } from './jointFit.js';
import type { MountView } from './mountView.js';
import { type RotatingCamera, poseOf, slipBasis } from './rotatingCamera.js';
import { type Sightings, collectSightings } from './sightings.js';
import { sharedErrors, withSharedErrors } from './sharedErrors.js';
import type { LensChoice } from './unknowns.js';
import { type Disagreement, findDisagreement } from './oneRotation.js';

/** One recognised frame and the sky at the middle of its exposure. */
export interface AxisFrame {
  readonly identification: Identification;
  readonly sky: LocalSky;
  /** Size of the picture, pixels. */
  readonly width: number;
  readonly height: number;
}

/** The axis as measured from frames turned about it. */
export interface AxisMeasurement extends AxisResult {
  /** Largest turn between two frames. */
  readonly largestTurn: number;
  /** Where three or more frames don't fit one rotation; null where they do or are two. */
  readonly disagreement: Disagreement | null;
  readonly fit: JointFit;
  /** What a later frame with the same camera on the same mount needs. */
  readonly view: MountView;
}

/** Less than this is no rotation: the axis would be known to no better than some arcminutes. */
const LEAST_TURN = 1 * DEGREE;
/** An axis farther from the pole than this is not that of a mount set up for polar alignment. */
const FARTHEST = 25 * DEGREE;
/** A lens term must lower chi-squared by this much to stay; chance does it once in 2000. */
const WORTH = 12;
/**
 * The axis about which the frames were turned, in the local frame, so that the mount's tracking does not matter:
 * start from the poses pairwise, finish with one least squares over the stars of all frames.
 *
 * @throws PolewardError `too-few-frames` with less than two, `no-rotation` where the frames were not turned about
 *   one axis near the pole far enough to tell it
 */
export function measureAxis(frames: readonly AxisFrame[], aim: Aim): AxisMeasurement {
  const first = frames[0];
  if (!first || frames.length < 2) {
    throw new PolewardError('too-few-frames', 'One frame alone does not show the axis. Give two or more, with the mount turned in right ascension between them.');
  }
  const toward = frames.reduce<Vector>((sum, f) => [sum[0] + f.identification.pose[2], sum[1] + f.identification.pose[5], sum[2] + f.identification.pose[8]], [0, 0, 0]);
  const hemisphere: Hemisphere = dot(toward, first.sky.truePole(1)) >= 0 ? 1 : -1;
  const refractedPole = first.sky.refractedPole(hemisphere);
  const truePole = first.sky.truePole(hemisphere);

  const { start, poses } = startFromPairs(frames, refractedPole);
  let stars = collectSightings(frames.map(({ identification, sky }) => ({ stars: identification.stars, pole: sky.refractedPole(hemisphere) })));
  const width = Math.max(first.width, first.height);
  let best = bestFit(stars, start, width);
  if (best) {
    stars = withSharedErrors(stars, sharedErrors(stars, best.fit), best.fit.lens.focalPixels);
    const fit = jointFit(stars, best.fit, best.choice, width);
    if (fit) best = { ...best, fit };
  }
  const found = best && findDisagreement(stars, poses, best.fit, best.choice, width);
  // A frame known to be at fault has no say; the lens may have been bent to please it.
  if (found?.without && found.frame !== null) best = bestFit(stars, found.without, width, [found.frame]) ?? best;
  const fit = best?.fit;
  if (!fit) {
    throw new PolewardError('no-rotation', 'The stars of these frames do not fix the axis. Take frames with more stars, and turn the mount farther in right ascension.');
  }
  const off = angleBetween(fit.axis, refractedPole);
  if (off > FARTHEST) throw notAboutPole(off);

  const aimed = aim === 'true' ? truePole : refractedPole;
  const excess = found && found.frame === null ? Math.max(fit.excess, found.perFreedom) : fit.excess;
  const air = first.sky.site && best && airResponse(stars, fit, best.choice, width, first.sky.refraction);
  return {
    hemisphere, axis: fit.axis, aim,
    fromTruePole: axisError(fit.axis, truePole),
    fromRefractedPole: axisError(fit.axis, refractedPole),
    sigma: axisSigma(fit.axis, fit.basis, fit.covariance.map((c) => c * excess) as unknown as Covariance, aimed, aim, first.sky, air),
    frames: frames.map((frame, i) => frameOnAxis(fit.axis, poseOf(fit, i), fit.angles[i]!, fit.lens, frame.sky, aim, hemisphere, fit.rms[i]!)),
    largestTurn: Math.max(...fit.angles) - Math.min(...fit.angles),
    disagreement: found && { frame: found.frame, slip: found.slip, sigma: found.sigma, perFreedom: found.perFreedom },
    lens: fit.lens,
    fit,
    view: mountView(fit, frames.at(-1)!, found?.frame === frames.length - 1 ? frames.length - 2 : frames.length - 1, hemisphere, excess),
  };
}

/** Poses of all frames with the lens of the frame that knows it best, and the axis their pairs turn about. */
function startFromPairs(frames: readonly AxisFrame[], pole: Vector): { start: RotatingCamera; poses: Rotation[] } {
  const best = frames.reduce((a, b) => (b.identification.stars.length > a.identification.stars.length ? b : a));
  const lens = best.identification.lens;
  const poses = frames.map(({ identification }) => {
    if (identification === best.identification) return identification.pose;
    const { stars } = identification;
    const fit = fitPose({
      count: stars.length,
      directions: Float64Array.from(stars.flatMap((s) => s.direction)),
      x: Float64Array.from(stars, (s) => s.detection.x),
      y: Float64Array.from(stars, (s) => s.detection.y),
      sigma: Float64Array.from(stars, (s) => Math.hypot(s.detection.sigma, s.catalogueSigma * lens.focalPixels)),
    }, identification.pose, lens, { focal: false, radialTerms: 0, robust: CAUCHY.scale });
    return fit?.pose ?? identification.pose;
  });
  const turns = axisFromPoses(poses, pole);
  if (turns.largest < LEAST_TURN) {
    throw new PolewardError('no-rotation',
      `The mount was not turned between these frames (${(turns.largest / DEGREE).toFixed(1)}°; the sky's own motion does not count). Turn it in right ascension by 30° or more, 60° to 90° is best, and take another frame.`);
  }
  const off = angleBetween(turns.axis, pole);
  if (off > FARTHEST) throw notAboutPole(off);
  return { start: { axis: turns.axis, pose: poses[0]!, angles: turns.angles, slips: poses.map(() => [0, 0, 0]), lens }, poses };
}

function notAboutPole(off: number): PolewardError {
  return new PolewardError('no-rotation',
    `Between these frames the camera turned about an axis ${(off / DEGREE).toFixed(0)}° from the pole, not about the right-ascension axis. Clamp the declination, turn in right ascension only, and take the frames again.`);
}

interface BestFit {
  readonly fit: JointFit;
  readonly choice: LensChoice;
}

/** The joint fit with as many lens terms as the data pay for. */
function bestFit(stars: Sightings, start: RotatingCamera, width: number, slipped: readonly number[] = []): BestFit | null {
  let best: BestFit | null = null;
  const consider = (radialTerms: number, centre: boolean): void => {
    const choice: LensChoice = { radialTerms, centre, slipped };
    const fit = jointFit(stars, best?.fit ?? start, choice, width);
    if (fit && (!best || fit.chiSquared < best.fit.chiSquared - WORTH)) best = { fit, choice };
  };
  const enough = (): number => (best as BestFit | null)?.choice.radialTerms ?? 0;
  // From what single frames have shown; the next term is asked for only if the last one paid.
  for (let terms = Math.min(start.lens.radial.length, MAX_RADIAL_TERMS); terms <= MAX_RADIAL_TERMS; terms++) {
    consider(terms, false);
    if (enough() < terms) break;
  }
  consider(enough(), true);
  return best;
}

/** The camera on its mount as the last sound frame left it. */
function mountView(fit: JointFit, last: AxisFrame, index: number, hemisphere: Hemisphere, excess: number): MountView {
  const camera = { ...fit, slips: fit.slips.map((): Vector => [0, 0, 0]) };
  return {
    hemisphere,
    centre: apply(inverse(fit.pose), fit.axis),
    centreBasis: slipBasis(fit),
    centreCovariance: fit.centreCovariance.map((c) => c * excess) as unknown as Covariance,
    pose: poseOf(camera, index),
    time: last.sky.time,
    lens: fit.lens,
    width: last.width,
    height: last.height,
  };
}
