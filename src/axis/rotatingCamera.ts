import { type Rotation, apply, compose, fromRotationVector, inverse, rotationAbout } from '../geometry/rotation.js';
import { type Vector, cross, dot, scale, subtract, unit } from '../geometry/vector.js';
import type { Lens } from '../identify/lens.js';

/** Camera, axis and rotations: all that the pixels of all stars follow from. */
export interface RotatingCamera {
  /** Local direction of the axis, length 1. */
  readonly axis: Vector;
  /** Camera to local, at angle 0. */
  readonly pose: Rotation;
  /** Right-handed turn about the axis of each frame, radians; the first is 0. */
  readonly angles: readonly number[];
  /** How far the camera had moved against the mount in each frame: a rotation vector in the camera frame, at right angles to the axis. */
  readonly slips: readonly Vector[];
  readonly lens: Lens;
}

/** Up and east at the axis. */
export function axisBasis(axis: Vector): [Vector, Vector] {
  const vertical: Vector = Math.abs(axis[2]) < 1 - 1e-9 ? [0, 0, 1] : [0, -1, 0];
  const up = unit(subtract(vertical, scale(axis, dot(axis, vertical))));
  // Facing along the axis with the head up, the right hand is axis × up; that is east for an axis in the north.
  return [up, cross(axis, up)];
}

/** The pose (camera to local) of a frame. */
export function poseOf(camera: RotatingCamera, frame: number): Rotation {
  return compose(rotationAbout(camera.axis, camera.angles[frame]!), slippedPose(camera, frame));
}

/** The pose at angle 0 of a frame in which the camera had slipped. */
export function slippedPose(camera: RotatingCamera, frame: number): Rotation {
  return compose(camera.pose, fromRotationVector(camera.slips[frame]!));
}

/** Two directions in the camera frame at right angles to the axis: the ways in which a slip shows. */
export function slipBasis(camera: RotatingCamera): [Vector, Vector] {
  return axisBasis(apply(inverse(camera.pose), camera.axis));
}
