import type { Rotation } from '../geometry/rotation.js';
import type { Vector } from '../geometry/vector.js';
import type { Lens } from '../identify/lens.js';
import type { Hemisphere } from '../sky/localSky.js';
import type { Covariance } from './axisResult.js';

/**
 * How the camera sits on the mount, as frames turned about the axis have shown it: where in the camera the axis lies does
 * not change when a knob is turned or the drive runs, so that one more frame shows where the axis points.
 */
export interface MountView {
  readonly hemisphere: Hemisphere;
  /** Direction of the axis in the camera frame, length 1. */
  readonly centre: Vector;
  /** Two directions in the camera frame at right angles to it, and the covariance (radians²) along them. */
  readonly centreBasis: readonly [Vector, Vector];
  readonly centreCovariance: Covariance;
  /** Camera to local in the last frame, and when that was. */
  readonly pose: Rotation;
  readonly time: Date;
  readonly lens: Lens;
  readonly width: number;
  readonly height: number;
}
