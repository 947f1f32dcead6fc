import { type Vector, dot, subtract } from '../geometry/vector.js';
import { type Refraction, refractionAngle } from '../sky/refraction.js';
import { type JointFit, jointFit } from './jointFit.js';
import type { LensChoice } from './mountModel.js';
import type { Sightings } from './sightings.js';

/** Share by which the air is made denser to see what follows: small, so that the answer is in proportion. */
const TRIED = 0.01;

/**
 * How far the axis found would move if the air bent all light by once its whole refraction more: radians along the fit's basis (up,
 * right), to be scaled by the share that the air may be off. Air lifts low stars more than high ones; where a field reaches down to the
 * horizon this does not only raise the axis but turns and bends the pattern of stars, and moves the axis sideways.
 * Null where the fit fails.
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
  const moved = jointFit({ ...sightings, vectors }, fit, choice, width);
  if (!moved) return null;
  const change: Vector = subtract(moved.axes[stance]!, fit.axes[stance]!);
  const [up, right] = fit.bases.axes[stance]!;
  return [dot(change, up) / TRIED, dot(change, right) / TRIED];
}
