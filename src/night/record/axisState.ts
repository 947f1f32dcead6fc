import type { Aim } from '../../axis/aim.js';
import { axisBasis } from '../../axis/axisBasis.js';
import type { Covariance } from '../../axis/axisResult.js';
import type { MountView } from '../../axis/mountView.js';
import { apply, inverse } from '../../geometry/rotation.js';
import { type Vector, dot } from '../../geometry/vector.js';
import type { AxisState } from './entry.js';

/** How the camera sits on the mount, as a session keeps it. */
export function stateOfView(view: MountView, aim: Aim): AxisState {
  const axis = apply(view.pose, view.centre);
  return {
    utc: view.time.toISOString(), axis, pose: view.pose, lens: view.lens, width: view.width, height: view.height,
    covariance: turned(view.centreCovariance, view.centreBasis, axisBasis(axis).map((b) => apply(inverse(view.pose), b))),
    hemisphere: view.hemisphere, aim,
  };
}

/** The inverse of {@link stateOfView}. */
export function viewOfState(state: AxisState): MountView {
  const toCamera = inverse(state.pose);
  const [up, east] = axisBasis(state.axis).map((b) => apply(toCamera, b));
  return {
    hemisphere: state.hemisphere, centre: apply(toCamera, state.axis), centreBasis: [up!, east!],
    centreCovariance: state.covariance, pose: state.pose, time: new Date(state.utc), lens: state.lens, width: state.width, height: state.height,
  };
}

/** A covariance along one pair of directions, along another pair in the same plane. */
function turned(covariance: Covariance, from: readonly Vector[], to: readonly Vector[]): Covariance {
  const at = (r: number, k: number): number => {
    let sum = 0;
    for (let i = 0; i < 2; i++) for (let j = 0; j < 2; j++) sum += dot(to[r]!, from[i]!) * covariance[2 * i + j]! * dot(to[k]!, from[j]!);
    return sum;
  };
  return [at(0, 0), at(0, 1), at(1, 0), at(1, 1)];
}
