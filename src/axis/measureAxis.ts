import { PolewardError } from '../error.js';
import { DEGREE } from '../geometry/angle.js';
import type { Rotation } from '../geometry/rotation.js';
import { type Vector, dot } from '../geometry/vector.js';
import { CAUCHY } from '../identify/cauchyLoss.js';
import { fitPose } from '../identify/fitPose.js';
import type { Hemisphere } from '../sky/localSky.js';
import type { Aim, AxisResult } from './axisResult.js';
import { axisFromPoses } from './axisFromPoses.js';
import { type AxisFrame, axisInStance, estimateMount } from './estimateMount.js';
import type { JointFit } from './jointFit.js';
import { type MountModel, modelAbout, turnsOf } from './mountModel.js';
import { type Disagreement, findDisagreement } from './oneRotation.js';
import { strayAxis } from './strayAxis.js';

/** The axis as measured from frames turned about it. */
export interface AxisMeasurement extends AxisResult {
  /** Largest turn between two frames. */
  readonly largestTurn: number;
  /** Where three or more frames don't fit one rotation; null where they do or there are two. */
  readonly disagreement: Disagreement | null;
  readonly fit: JointFit;
}

/** Less than this is not a rotation: the error of the axis would be some arcminutes. */
const LEAST_TURN = 1 * DEGREE;

/**
 * The axis about which the frames were turned, in the local frame, so that the mount's tracking does not matter: start from the poses
 * pairwise, finish with one least squares over the stars of all frames.
 *
 * @throws PolewardError `too-few-frames` with less than two, `no-rotation` where the frames were not turned far enough about one axis near
 * the pole
 */
export function measureAxis(frames: readonly AxisFrame[], aim: Aim): AxisMeasurement {
  const first = frames[0];
  if (!first || frames.length < 2) {
    throw new PolewardError('too-few-frames', 'One frame alone does not show the axis. Give two or more, with the mount turned in '
      + 'right ascension between them.');
  }
  const hemisphere = hemisphereOf(frames);
  const { start, poses } = startFromPairs(frames, hemisphere);
  const estimate = estimateMount(frames, start, hemisphere);
  const found = estimate && findDisagreement(estimate, poses);
  // A frame known to be at fault is not used: the others give the axis and the lens.
  const used = found?.without ?? estimate;
  if (!used) {
    throw new PolewardError('no-rotation', 'The stars of these frames do not fix the axis. Take frames with more stars, and turn the '
      + 'mount farther in right ascension.');
  }
  const { fit } = used;
  const stray = strayAxis(fit.axes[0]!, first.sky, hemisphere);
  if (stray) throw stray;

  const excess = found && found.frame === null ? Math.max(fit.excess, found.perFreedom) : fit.excess;
  const turns = turnsOf(fit);
  return {
    ...axisInStance(used, frames, 0, aim, hemisphere, excess),
    largestTurn: Math.max(...turns) - Math.min(...turns),
    disagreement: found && { frame: found.frame, slip: found.slip, sigma: found.sigma, perFreedom: found.perFreedom },
    fit,
  };
}

/** The celestial pole over the site; without a site the nearer one to where the cameras looked. */
export function hemisphereOf(frames: readonly AxisFrame[]): Hemisphere {
  const { sky } = frames[0]!;
  if (sky.site) return sky.site.latitude >= 0 ? 1 : -1;
  const toward = frames.reduce<Vector>(
    (sum, { identification: { pose } }) => [sum[0] + pose[2], sum[1] + pose[5], sum[2] + pose[8]], [0, 0, 0],
  );
  return dot(toward, sky.truePole(1)) >= 0 ? 1 : -1;
}

/** Poses of all frames with the lens of the frame that knows it best, and the axis of their pairs' rotations. */
function startFromPairs(frames: readonly AxisFrame[], hemisphere: Hemisphere): { start: MountModel; poses: Rotation[] } {
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
  const turns = axisFromPoses(poses, frames[0]!.sky.refractedPole(hemisphere));
  if (turns.largest < LEAST_TURN) {
    throw new PolewardError('no-rotation',
      `The mount was not turned between these frames (${(turns.largest / DEGREE).toFixed(1)}°; the sky's own motion does not count). `
        + `Turn it in right ascension by 30° or more, 60° to 90° is best, and take another frame.`);
  }
  const stray = strayAxis(turns.axis, frames[0]!.sky, hemisphere);
  if (stray) throw stray;
  return { start: modelAbout(turns.axis, poses, lens), poses };
}
