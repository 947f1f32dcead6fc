import { DEGREE } from '../geometry/angle.js';
import { type Rotation, axisAndAngle, compose, inverse } from '../geometry/rotation.js';
import { ACCEPTED_ODDS } from './chanceOdds.js';

/** A mount's axis is rarely farther than this from the pole, radians. */
const NEAR_POLE = 6 * DEGREE;
/** Of turns at random so many have their axis so near to either pole. */
const SHARE = 1 - Math.cos(NEAR_POLE);

/**
 * Logarithm of the odds against chance that a pose must reach, where an earlier frame of the same camera is known. A mount that was turned
 * in right ascension, or only the sky, carries one pose to the other by a turn about an axis near the pole; of poses by chance only a share
 * is like that, and of those so much less is asked. All others must reach what is asked without an earlier frame.
 *
 * @param pose camera to ICRS
 * @param before the same of the earlier frame
 */
export function oddsAfterTurn(pose: Rotation, before: Rotation): number {
  const { axis } = axisAndAngle(compose(pose, inverse(before)));
  return Math.log(ACCEPTED_ODDS) + (Math.abs(axis[2]) > Math.cos(NEAR_POLE) ? Math.log(SHARE) : 0);
}
