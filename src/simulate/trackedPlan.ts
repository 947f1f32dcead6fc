import { DEGREE } from '../geometry/angle.js';
import { apply, inverse } from '../geometry/rotation.js';
import { type Vector, unit } from '../geometry/vector.js';
import { directionAtHourAngle } from '../run/targetPose.js';
import { makeLocalSky } from '../sky/localSky.js';
import { type Drive } from './drive.js';
import { axisPlace, headPose } from './mount.js';
import type { NightPlan } from './nightPlan.js';

/** A field anywhere in the sky that a mount follows. */
export interface TrackedTarget {
  /** Of date, without air. */
  readonly declinationDeg: number;
  /** At the start of the first frame, west positive. */
  readonly hourAngleHours: number;
  readonly frames: number;
}

/** The plan of a night whose camera looks at a place in the sky at rotation 0, and is turned from there as the plan says. */
export function pointedPlan(plan: NightPlan, { declinationDeg, hourAngleHours }: Omit<TrackedTarget, 'frames'>): NightPlan {
  const sky = makeLocalSky(plan.startUtc, plan.site);
  const icrs = directionAtHourAngle(sky, declinationDeg * DEGREE, hourAngleHours * 15 * DEGREE);
  const [x, y, z]: Vector = unit(apply(inverse(headPose(axisPlace(plan, 0))), sky.toLocal(icrs)));
  return { ...plan, pointingOffsetDeg: Math.atan2(Math.hypot(x, y), z) / DEGREE, pointingDirectionDeg: Math.atan2(y, x) / DEGREE };
}

/** The plan of a night whose mount points at a target and tracks it with the given drive. */
export function trackedPlan(plan: NightPlan, target: TrackedTarget, drive: Drive): NightPlan {
  return { ...pointedPlan(plan, target), rotationsDeg: new Array<number>(target.frames).fill(0), tracking: true, drive };
}
