import { angleBetween, toSpherical } from '../../geometry/vector.js';
import { wrapPositive } from '../../geometry/angle.js';
import type { AxisResult } from '../../axis/axisResult.js';
import type { LocalSky } from '../../sky/localSky.js';

/** Where the axis lies from the pole when only the time is known. Hours, 0 to 24. */
export interface DirectionWithoutSite {
  /** Hour angle of the axis at Greenwich when the first frame was taken; add the east longitude in hours for the local one. */
  readonly greenwichHourAngleHours: number;
  /** ICRS right ascension of the point of the sky at the axis at that time. */
  readonly rightAscensionHours: number;
}

export function directionWithoutSite({ axis }: AxisResult, sky: LocalSky): DirectionWithoutSite {
  const hours = (angle: number): number => Math.round((wrapPositive(angle) * 12 / Math.PI) * 1000) / 1000;
  const star = sky.fromLocal(axis);
  return {
    // The equatorial frame turns with the Earth, with x at Greenwich: hour angle is minus longitude there.
    greenwichHourAngleHours: hours(-toSpherical(axis).longitude),
    rightAscensionHours: angleBetween(star, [0, 0, Math.sign(star[2])]) > 0 ? hours(toSpherical(star).longitude) : 0,
  };
}
