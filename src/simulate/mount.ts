import { ARCMINUTE, DEGREE } from '../geometry/angle.js';
import { type Rotation, compose, rotationAbout } from '../geometry/rotation.js';
import type { Vector } from '../geometry/vector.js';
import type { Hemisphere } from '../sky/localSky.js';
import { SIDEREAL_RATE } from '../sky/siderealRate.js';
import type { ShaftTurns } from './drive.js';
import type { NightPlan } from './nightPlan.js';

/** The pole that is up: north at the equator too. */
export function elevatedPole(latitude: number): Hemisphere {
  return latitude < 0 ? -1 : 1;
}

/** Where the axis points at a frame: altitude and azimuth, radians, local frame. */
export interface AxisPlace {
  readonly altitude: number;
  readonly azimuth: number;
}

/** The axis at frame `frame`, after the knob turns before it. */
export function axisPlace(plan: NightPlan, frame: number): AxisPlace {
  const hemisphere = elevatedPole(plan.site.latitude);
  let altitude = plan.altitudeErrorArcmin;
  let azimuth = plan.azimuthErrorArcmin;
  for (const shift of plan.shifts) {
    if (shift.beforeFrame > frame) continue;
    altitude += shift.altitudeArcmin ?? 0;
    azimuth += shift.azimuthArcmin ?? 0;
  }
  return {
    altitude: Math.abs(plan.site.latitude) + altitude * ARCMINUTE,
    // East is toward increasing azimuth in the north and toward decreasing azimuth under the south pole.
    azimuth: hemisphere === 1 ? azimuth * ARCMINUTE : Math.PI - azimuth * ARCMINUTE,
  };
}

/** Direction (length 1) in the local frame. */
export function axisDirection({ altitude, azimuth }: AxisPlace): Vector {
  const c = Math.cos(altitude);
  return [c * Math.sin(azimuth), c * Math.cos(azimuth), Math.sin(altitude)];
}

/**
 * Camera -> local frame at frame `frame`, `seconds` after the start of the first frame. The mount's head carries the axis; the
 * right-ascension shaft turns about it; the declination shaft is on that, and the camera on the declination shaft.
 */
export function cameraPose(plan: NightPlan, frame: number, seconds: number, beyond: ShaftTurns = { west: 0, declination: 0 }): Rotation {
  const hemisphere = elevatedPole(plan.site.latitude);
  const west = (plan.rotationsDeg[frame] ?? 0) * DEGREE + (plan.tracking ? SIDEREAL_RATE * seconds : 0) + beyond.west;
  let slip = 0;
  for (const shift of plan.shifts) if (shift.beforeFrame <= frame) slip += shift.declinationArcmin ?? 0;
  // Stars turn left-handed about the north pole's direction and right-handed about the south pole's.
  const shaft = rotationAbout([0, 0, 1], -hemisphere * west);
  const offset = rotationAbout([0, 0, 1], plan.pointingDirectionDeg * DEGREE);
  const declination = rotationAbout([0, 1, 0], plan.pointingOffsetDeg * DEGREE + slip * ARCMINUTE + beyond.declination);
  const roll = rotationAbout([0, 0, 1], plan.rollDeg * DEGREE);
  return [headPose(axisPlace(plan, frame)), shaft, offset, declination, roll].reduce(compose);
}

/** Frame of the mount's head (x to the right and y down as one faces along the axis, z along it) -> local frame. */
export function headPose(place: AxisPlace): Rotation {
  const [fx, fy, fz] = axisDirection(place);
  const [rx, ry] = [Math.cos(place.azimuth), -Math.sin(place.azimuth)];
  // down = forward × right
  return [rx, -fz * ry, fx, ry, fz * rx, fy, 0, fx * ry - fy * rx, fz];
}
