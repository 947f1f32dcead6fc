import { anyBasis, axisBasis } from '../../axis/axisBasis.js';
import type { Covariance } from '../../axis/axisResult.js';
import { apply, inverse } from '../../geometry/rotation.js';
import { type Vector, dot, unit } from '../../geometry/vector.js';
import type { Anchor } from '../anchor.js';
import type { AxisState } from './entry.js';

/** How the camera sat on the mount by a session of version 1, which kept no stars. */
export function anchorOfState(state: AxisState): Anchor {
  const toCamera = inverse(state.pose);
  const centre = unit(apply(toCamera, state.axis));
  return {
    centre, covariance: turned(state.covariance, axisBasis(state.axis).map((b) => apply(toCamera, b)), anyBasis(centre)),
    lens: state.lens, width: state.width, height: state.height, utc: state.utc, from: 'tonight',
  };
}

/** A covariance along one pair of directions, converted to another pair in the same plane. */
function turned(covariance: Covariance, from: readonly Vector[], to: readonly Vector[]): Covariance {
  const at = (r: number, k: number): number => {
    let sum = 0;
    for (let i = 0; i < 2; i++) for (let j = 0; j < 2; j++) sum += dot(to[r]!, from[i]!) * covariance[2 * i + j]! * dot(to[k]!, from[j]!);
    return sum;
  };
  return [at(0, 0), at(0, 1), at(1, 0), at(1, 1)];
}
