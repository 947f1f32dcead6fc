import { type Rotation, axisAndAngle, compose, inverse } from '../geometry/rotation.js';
import { type Vector, dot, scale, unit } from '../geometry/vector.js';

/** Rotation about one axis that carried the camera from the first frame to each. */
export interface Turns {
  /** Local direction, length 1, the end toward `toward`. */
  readonly axis: Vector;
  /** Right-handed angle about the axis from frame 0 to each frame, radians, -π to π. */
  readonly angles: readonly number[];
  /** The largest angle between any two frames, radians, 0 to π. */
  readonly largest: number;
}

/**
 * The axis about which a set of poses (camera to local) turned: the mean of the axes of all pairs' relative rotations, each weighted by
 * sin²(θ/2), since the error of a pair's axis is proportional to 1 / sin(θ/2). Exact for poses of one rotation; otherwise a start for the
 * least squares of all stars.
 *
 * @param toward a direction; the axis' end on its side is returned
 */
export function axisFromPoses(poses: readonly Rotation[], toward: Vector): Turns {
  let sum: Vector = [0, 0, 0];
  let largest = 0;
  for (let i = 0; i < poses.length; i++) {
    for (let k = i + 1; k < poses.length; k++) {
      const { axis, angle } = axisAndAngle(compose(poses[k]!, inverse(poses[i]!)));
      const w = Math.sin(angle / 2) ** 2 * (dot(axis, toward) < 0 ? -1 : 1);
      sum = [sum[0] + w * axis[0], sum[1] + w * axis[1], sum[2] + w * axis[2]];
      largest = Math.max(largest, angle);
    }
  }
  const axis = unit(sum);
  const angles = poses.map((pose, i) => {
    if (i === 0) return 0;
    const turn = axisAndAngle(compose(pose, inverse(poses[0]!)));
    return dot(turn.axis, axis) < 0 ? -turn.angle : turn.angle;
  });
  return { axis: dot(axis, toward) < 0 ? scale(axis, -1) : axis, angles, largest };
}
