import { type Rotation, apply, inverse } from '../geometry/rotation.js';
import { type Vector, cross } from '../geometry/vector.js';

/** What the weighing of explanations needs of a look: where the camera pointed, and how well that is known. */
export interface PoseLook {
  /** Mid-exposure, milliseconds UTC. */
  readonly time: number;
  /** Camera to local frame. */
  readonly pose: Rotation;
  /** Covariance (3 by 3, row by row, radians²) of the rotation vector that turns the pose in the camera frame. */
  readonly spread: ArrayLike<number>;
  /** What the person said to have done since the look before. */
  readonly said?: Said;
  /** Part of the record before this look could not be read. */
  readonly afterGap?: boolean;
}

/** What a person said was done between two looks. Absent: nothing was said. */
export interface Said {
  /** `turned-only`: only right ascension was turned (frames of one `measure`). `knobs`: those in `knobs` were turned. */
  readonly did: 'turned-only' | 'knobs';
  readonly knobs: readonly ('azimuth' | 'altitude')[];
}

/** What poses can't show better than this, radians: errors of the lens itself and a mount that sags. About 0.15″. */
export const POSE_FLOOR = 7e-7;

/** Covariance (2 by 2) along `basis` (local) of where a look puts the camera direction `centre`, from the pose's errors alone. */
export function pointingCovariance(look: PoseLook, centre: Vector, basis: readonly [Vector, Vector]): [number, number, number, number] {
  const toCamera = inverse(look.pose);
  const rows = basis.map((b) => cross(centre, apply(toCamera, b)));
  const at = (r: number, k: number): number => {
    let sum = 0;
    for (let i = 0; i < 3; i++) for (let j = 0; j < 3; j++) sum += rows[r]![i]! * look.spread[3 * i + j]! * rows[k]![j]!;
    return sum;
  };
  const across = at(0, 1);
  return [at(0, 0) + POSE_FLOOR ** 2, across, across, at(1, 1) + POSE_FLOOR ** 2];
}
