import { fromHorizontal, horizontal } from '../axis/axisError.js';
import { wrapSigned } from '../geometry/angle.js';
import { type Rotation, compose, rotationAbout } from '../geometry/rotation.js';
import { type Vector, cross, unit } from '../geometry/vector.js';

/** The way of the two knobs that carries the axis to the pole, in parts. All directions local (x east, y north, z up). */
export interface KnobMove {
  /** The rotation of everything on the knobs after `azimuth` and `altitude` (0 to 1) of the way. */
  rotation(azimuth: number, altitude: number): Rotation;
  /** Where the axis points then, length 1. */
  axis(azimuth: number, altitude: number): Vector;
}

/**
 * The way of the axis to `goal` by the knobs: azimuth about the vertical, altitude about the horizontal at right angles to the axis. The
 * altitude bolt is on the azimuth base, so the order of the two makes no difference. Exact for any size.
 */
export function knobMove(axis: Vector, goal: Vector): KnobMove {
  const from = horizontal(axis), to = horizontal(goal);
  const altitudeWay = to.altitude - from.altitude;
  const azimuthWay = wrapSigned(to.azimuth - from.azimuth);
  // Azimuth runs clockwise seen from above; raising turns about the horizontal to the axis' right.
  const right = unit(cross(axis, [0, 0, 1]));
  return {
    rotation: (azimuth, altitude) => compose(rotationAbout([0, 0, 1], -azimuth * azimuthWay), rotationAbout(right, altitude * altitudeWay)),
    axis: (azimuth, altitude) => fromHorizontal(from.altitude + altitude * altitudeWay, from.azimuth + azimuth * azimuthWay),
  };
}
