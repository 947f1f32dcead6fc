import type { Rotation } from '../geometry/rotation.js';
import { CAUCHY, toldByWeight } from './cauchyLoss.js';
import type { Matches } from './fitPose.js';
import type { Lens } from './lens.js';
import { invertSymmetric } from '../numeric/normalEquations.js';
import { PROJECTION, project } from './projection.js';

/**
 * Covariance (3·3, radians²) of a pose that stars fix through a known lens: of the rotation vector that turns it in the
 * camera frame. Weights as in a fit with the Cauchy loss. Null where the stars don't fix it.
 */
export function poseCovariance(matches: Matches, pose: Rotation, lens: Lens): Float64Array | null {
  const normal = new Float64Array(9);
  const p = new Float64Array(PROJECTION.length);
  for (let i = 0; i < matches.count; i++) {
    const x = matches.directions[3 * i]!, y = matches.directions[3 * i + 1]!, z = matches.directions[3 * i + 2]!;
    const c = [
      pose[0] * x + pose[3] * y + pose[6] * z, pose[1] * x + pose[4] * y + pose[7] * z, pose[2] * x + pose[5] * y + pose[8] * z,
    ] as const;
    if (!project(lens, c[0], c[1], c[2], p)) continue;
    const s2 = matches.sigma[i]! ** 2;
    const off2 = (matches.x[i]! - p[0]!) ** 2 + (matches.y[i]! - p[1]!) ** 2;
    const w = toldByWeight(1) / s2 / (1 + off2 / (s2 * CAUCHY.scale ** 2));
    for (let half = 0; half < 2; half++) {
      const [a, b, d] = [p[2 + 3 * half]!, p[3 + 3 * half]!, p[4 + 3 * half]!];
      const j = [b * c[2] - d * c[1], d * c[0] - a * c[2], a * c[1] - b * c[0]];
      for (let r = 0; r < 3; r++) for (let k = r; k < 3; k++) normal[3 * r + k]! += w * j[r]! * j[k]!;
    }
  }
  return invertSymmetric(normal, 3);
}
