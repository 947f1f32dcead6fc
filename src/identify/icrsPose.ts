import type { Rotation } from '../geometry/rotation.js';
import { type Vector, cross, dot, scale, subtract, unit } from '../geometry/vector.js';
import type { LocalSky } from '../sky/localSky.js';

/** How far beside the optical axis a direction is carried over to find the camera's roll, radians. */
const BESIDE = 1e-3;

/** A pose (camera to ICRS) from one in the sky's local frame: exact on the optical axis. */
export function toIcrs(sky: LocalSky, pose: Rotation): Rotation {
  return carried(pose, sky.fromLocal);
}

/** A pose (camera to local directions) from one relative to ICRS: exact on the optical axis. */
export function fromIcrs(sky: LocalSky, pose: Rotation): Rotation {
  return carried(pose, sky.toLocal);
}

/** Refraction and aberration bend the frame a little: the roll is that of what is beside the axis. */
function carried(pose: Rotation, carry: (direction: Vector) => Vector): Rotation {
  const x: Vector = [pose[0], pose[3], pose[6]], z: Vector = [pose[2], pose[5], pose[8]];
  const axis = carry(z);
  const beside = carry(unit([z[0] + BESIDE * x[0], z[1] + BESIDE * x[1], z[2] + BESIDE * x[2]]));
  const right = unit(subtract(beside, scale(axis, dot(beside, axis))));
  const down = cross(axis, right);
  return [right[0], down[0], axis[0], right[1], down[1], axis[1], right[2], down[2], axis[2]];
}
