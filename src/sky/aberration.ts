import { type Vector, dot } from '../geometry/vector.js';

/**
 * The direction in which a moving observer sees what an observer at rest sees in `direction` (length 1). Special relativity, exact: with
 * -velocity the inverse. (Explanatory Supplement to the Astronomical Almanac, 3rd ed., eq. 7.40.)
 *
 * @param velocity the observer's, in units of the speed of light, in the frame of `direction`
 */
export function aberrate(direction: Vector, velocity: Vector): Vector {
  const inverseGamma = Math.sqrt(1 - dot(velocity, velocity));
  const along = dot(direction, velocity);
  const share = 1 + along / (1 + inverseGamma);
  const length = 1 + along;
  return [
    (inverseGamma * direction[0] + share * velocity[0]) / length,
    (inverseGamma * direction[1] + share * velocity[1]) / length,
    (inverseGamma * direction[2] + share * velocity[2]) / length,
  ];
}
