import { type Vector, dot, subtract } from '../geometry/vector.js';
import { type Refraction, refractionAngle } from '../sky/refraction.js';
import { type JointFit, jointFit } from './jointFit.js';
import type { LensChoice } from './mountModel.js';
import type { Sightings } from './sightings.js';

/** The share by which the air is made denser to see the effect: small, so that the effect is linear. */
const TRIED = 0.01;
/** With these the response is within 1 % of the last iteration's. */
const ITERATIONS = 5;

/**
 * How far the axis would move if refraction were twice as large: radians along the fit's basis (up, right), to be scaled by the uncertainty
 * of refraction as a share. Air lifts low stars more than high ones; in a field that reaches down to the horizon this also turns and bends
 * the pattern of stars, and moves the axis sideways. Null where the fit fails.
 */
export function airResponse(
  sightings: Sightings, fit: JointFit, choice: LensChoice, width: number, refraction: Refraction, stance = 0,
): readonly [number, number] | null {
  const vectors = sightings.vectors.slice();
  for (let k = 0; k < sightings.count; k++) {
    const [x, y, z] = [vectors[9 * k]!, vectors[9 * k + 1]!, vectors[9 * k + 2]!];
    const across = Math.hypot(x, y);
    const distance = Math.atan2(across, z);
    const lifted = distance - TRIED * refractionAngle(refraction, distance);
    const factor = across > 0 ? Math.sin(lifted) / across : 1;
    vectors.set([x * factor, y * factor, Math.cos(lifted)], 9 * k);
  }
  const moved = jointFit({ ...sightings, vectors }, fit, choice, width, [], ITERATIONS);
  if (!moved) return null;
  const change: Vector = subtract(moved.axes[stance]!, fit.axes[stance]!);
  const [up, right] = fit.bases.axes[stance]!;
  return [dot(change, up) / TRIED, dot(change, right) / TRIED];
}
