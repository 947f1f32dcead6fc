import { type Rotation, apply, axisAndAngle, compose, inverse, rotationAbout } from '../geometry/rotation.js';
import { dot, norm, scale, subtract } from '../geometry/vector.js';
import { cauchyCost } from '../identify/cauchyLoss.js';
import { axisFromPoses } from './axisFromPoses.js';
import { type JointFit, jointFit } from './jointFit.js';
import type { RotatingCamera } from './rotatingCamera.js';
import type { Sightings } from './sightings.js';
import type { LensChoice } from './unknowns.js';

/** What remains when the poses of three or more frames are asked whether one rotation made them. */
export interface Disagreement {
  /** The frame that disagrees; null where no single one does, or where three frames can't tell which. */
  readonly frame: number | null;
  /** How far the camera had moved against the mount in that frame, radians (of the last frame where it is null). */
  readonly slip: number;
  /** One-sigma error of the slip, radians. */
  readonly sigma: number;
  /** Chi-squared of the disagreement for each degree of freedom: 1 where there is none. */
  readonly perFreedom: number;
}

/** The chance of a false alarm is 0.3 %: the quantile of the normal distribution for it. */
const ALARM = 2.75;

/**
 * Tests whether one rotation fits all frames. Each frame beyond the second has two ways in which it may not; they are
 * given to it as a slip, and what chi-squared gains tells. Null where the frames agree.
 *
 * @param fit the joint fit without slips
 * @param poses each frame's own pose, free of the others
 */
export function findDisagreement(
  sightings: Sightings, poses: readonly Rotation[], fit: JointFit, choice: LensChoice, width: number,
): (Disagreement & { readonly without: JointFit | null }) | null {
  const n = poses.length;
  if (n < 3) return null;
  const late = Array.from({ length: n - 2 }, (_, i) => i + 2);
  const free = jointFit(sightings, startWithSlips(fit, poses, late), { ...choice, slipped: late }, width);
  if (!free) return null;
  const excess = Math.max(1, free.chiSquared / free.expected) * cauchyCost(1);
  const freedom = 2 * (n - 2);
  const gain = (fit.chiSquared - free.chiSquared) / excess;
  if (!(gain > quantile(freedom))) return null;

  const alone = poses.map((_, k) => jointFit(sightings, startWithSlips(fit, poses, [k]), { ...choice, slipped: [k] }, width));
  let best = n - 1;
  alone.forEach((f, k) => { if (f && f.chiSquared < (alone[best]?.chiSquared ?? Infinity)) best = k; });
  const culprit = alone[best];
  const explained = n > 3 && culprit !== null && culprit !== undefined &&
    (culprit.chiSquared - free.chiSquared) / excess < quantile(freedom - 2);
  const shown = explained ? best : n - 1;
  const slip = alone[shown];
  return {
    frame: explained ? best : null,
    slip: slip ? norm(slip.slips[shown]!) : 0,
    sigma: slip ? slip.slipSigmas[shown]! * Math.sqrt(excess / cauchyCost(1)) : 0,
    perFreedom: gain / freedom,
    without: explained ? culprit : null,
  };
}

/**
 * A start for a fit in which some frames may have slipped: the axis of the others, and for each frame what its own pose
 * says of turn and slip.
 */
function startWithSlips(camera: RotatingCamera, poses: readonly Rotation[], slipped: readonly number[]): RotatingCamera {
  const sound = poses.map((_, i) => i).filter((i) => !slipped.includes(i));
  const axis = axisFromPoses(sound.map((i) => poses[i]!), camera.axis).axis;
  const pose = poses[sound[0]!]!;
  const inCamera = apply(inverse(pose), axis);
  // Relative to the first sound frame; the turn of frame 0 is 0 by definition.
  const turns = poses.map((own) => {
    const moved = axisAndAngle(compose(inverse(pose), own));
    const vector = scale(moved.axis, moved.angle);
    const turn = dot(vector, inCamera);
    return { turn, slip: subtract(vector, scale(inCamera, turn)) };
  });
  // A large turn mixes with the slip, so take the turn out as a rotation before the slip is read off.
  const clean = poses.map((own, i) => {
    const turned = compose(pose, rotationAbout(inCamera, turns[i]!.turn));
    const rest = axisAndAngle(compose(inverse(turned), own));
    const vector = scale(rest.axis, rest.angle);
    return { turn: turns[i]!.turn + dot(vector, inCamera), slip: subtract(vector, scale(inCamera, dot(vector, inCamera))) };
  });
  const zero = clean[0]!.turn;
  return {
    ...camera, axis,
    pose: compose(pose, rotationAbout(inCamera, zero)),
    angles: clean.map(({ turn }) => turn - zero),
    slips: clean.map(({ slip }, i) => (slipped.includes(i) ? slip : [0, 0, 0])),
  };
}

/** Chi-squared exceeded with the chance of ALARM at some degrees of freedom (Wilson & Hilferty 1931, PNAS 17, 684). */
function quantile(freedom: number): number {
  const a = 2 / (9 * freedom);
  return freedom * (1 - a + ALARM * Math.sqrt(a)) ** 3;
}
