import { Constellation } from 'astronomy-engine';
import { DEGREE, wrapPositive } from '../geometry/angle.js';
import { type Vector, toSpherical } from '../geometry/vector.js';

/**
 * Name of the constellation that an ICRS direction (length 1) is in: "Cygnus". Boundaries of Delporte 1930 (the IAU's), as
 * astronomy-engine has them.
 */
export function constellationOf(direction: Vector): string {
  const { longitude, latitude } = toSpherical(direction);
  return Constellation(wrapPositive(longitude) / DEGREE / 15, latitude / DEGREE).name;
}
