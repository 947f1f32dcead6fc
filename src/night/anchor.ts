import { ARCMINUTE } from '../geometry/angle.js';
import type { Covariance } from '../axis/axisResult.js';
import type { Vector } from '../geometry/vector.js';
import type { Lens } from '../identify/lens.js';

/** How the camera sat on the mount before the night's first look, from a record that has no stars of it. */
export interface Anchor {
  /** Camera direction of the axis, length 1. */
  readonly centre: Vector;
  /** Along `anyBasis` of `centre`, radians². */
  readonly covariance: Covariance;
  readonly lens: Lens;
  readonly width: number;
  readonly height: number;
  /** When it was found, ISO UTC. */
  readonly utc: string;
  /**
   * `tonight`: by an earlier record of the same night.
   * `earlier-night`: remembered with the rig; the camera may have been taken off since.
   */
  readonly from: 'tonight' | 'earlier-night';
}

/** A camera that was left on the mount since an earlier night is still within this angle, radians, one sigma. */
const LEFT_ALONE = 1 * ARCMINUTE;

/** How well the camera's place is known now. */
export function covarianceNow({ covariance: [a, b, c, d], from }: Anchor): Covariance {
  const loose = from === 'tonight' ? 0 : LEFT_ALONE ** 2;
  return [a + loose, b, c, d + loose];
}
