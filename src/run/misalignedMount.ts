import { wrapPositive } from '../geometry/angle.js';
import { type Rotation, apply, compose, inverse, rotationAbout } from '../geometry/rotation.js';
import { type Vector, cross, dot, fromSpherical, norm, unit } from '../geometry/vector.js';
import type { Hemisphere } from '../sky/localSky.js';
import { type Refraction, refractDirection } from '../sky/refraction.js';
import { SIDEREAL_RATE } from '../sky/siderealRate.js';

/**
 * Exact rotation geometry of a mount that turns at the sidereal rate about an axis beside the pole. The sky turns about the true pole, the
 * air lifts the light, the mount turns about its axis; the motion of a star in the camera is the product. Nothing here is a small-angle
 * formula.
 *
 * Directions are of length 1 in the local frame (x east, y north, z up). A direction "on the mount" is the same vector carried along by the
 * mount: it is constant for what the mount follows exactly. It equals the local one at the start, time 0. Hours are of mean solar time.
 */

/** Apparent place of date, without air, radians. Hour angle west positive, at the start. */
export interface StarPlace {
  readonly hourAngle: number;
  readonly declination: number;
}

/** The air and rotation of the sky over a place. Latitude in radians, north positive. */
export interface TurningSky {
  readonly latitude: number;
  readonly refraction: Refraction;
}

/** Radians by which the sky turns in this many hours. */
export function siderealTurn(hours: number): number {
  return SIDEREAL_RATE * 3600 * hours;
}

/** The hemisphere of the elevated pole; the equator counts as north. */
export function elevatedPole(latitude: number): Hemisphere {
  return latitude < 0 ? -1 : 1;
}

/** Local direction of a place on the celestial sphere, without air. Latitude in radians. */
export function directionOf({ hourAngle, declination }: StarPlace, latitude: number): Vector {
  const [meridian, west, pole] = fromSpherical(hourAngle, declination);
  const c = Math.cos(latitude);
  const s = Math.sin(latitude);
  return [-west, pole * c - meridian * s, pole * s + meridian * c];
}

/** The inverse of {@link directionOf}; the hour angle in 0 to 2π. */
export function placeOf([east, north, up]: Vector, latitude: number): StarPlace {
  const c = Math.cos(latitude);
  const s = Math.sin(latitude);
  const meridian = up * c - north * s;
  return {
    hourAngle: wrapPositive(Math.atan2(-east, meridian)),
    declination: Math.atan2(north * c + up * s, Math.hypot(east, meridian)),
  };
}

/** Local direction in which a star appears after `hours`: the rotation of the sky, then refraction. */
export function apparentDirection(sky: TurningSky, { hourAngle, declination }: StarPlace, hours: number): Vector {
  return refractDirection(sky.refraction, directionOf({ hourAngle: hourAngle + siderealTurn(hours), declination }, sky.latitude));
}

/** Where the poles appear: the true one at altitude |latitude|, the refracted one above it. */
export function poleDirections({ latitude, refraction }: TurningSky): { truePole: Vector; refractedPole: Vector } {
  const truePole: Vector = [0, elevatedPole(latitude) * Math.cos(latitude), Math.abs(Math.sin(latitude))];
  return { truePole, refractedPole: refractDirection(refraction, truePole) };
}

/** The mount's turn about its axis (the end toward the elevated pole) in `hours`; converts on-the-mount directions to local ones. */
export function mountTurn(axis: Vector, hemisphere: Hemisphere, hours: number): Rotation {
  return rotationAbout(axis, -hemisphere * siderealTurn(hours));
}

/** What appears in a local direction after `hours`, on the mount. */
export function onMount(axis: Vector, hemisphere: Hemisphere, hours: number, local: Vector): Vector {
  return apply(inverse(mountTurn(axis, hemisphere, hours)), local);
}

/** For a star nearer to the axis than this (radians, 0.01″) no turn about it is needed. */
const ON_AXIS = 5e-8;

/**
 * The declination axis of a mount whose camera looks along `forward`, both at right angles to it. At the pole there is none: west is taken.
 */
export function declinationAxis(axis: Vector, forward: Vector): Vector {
  const across = cross(axis, forward);
  return dot(across, across) > 1e-24 ? unit(across) : unit(cross(axis, [0, 0, 1]));
}

/**
 * The effect of guiding on the camera: the turn about the declination axis, then about the right-ascension axis, that brings what was at
 * `home` to `seen`, where the guide star is now; both on the mount. Everything in the camera turns with it.
 * @param declination see {@link declinationAxis}
 * @returns null where the declination axis can't reach the guide star (nearer to the pole than its offset from the camera's axis)
 */
export function guideTurn(axis: Vector, declination: Vector, home: Vector, seen: Vector): Rotation | null {
  const third = cross(declination, axis);
  const tilt = dot(home, declination);
  const elevation = Math.atan2(dot(home, axis), dot(home, third));
  // R(declination, ψ)·home keeps its part along declination; its distance from the axis is to be that of what is seen. By the sine of
  // that distance, not the cosine of the elevation: near the pole rounding would take seven digits.
  const distance = norm(cross(axis, seen));
  const out2 = distance * distance - tilt * tilt;
  if (out2 < -1e-18) return null;
  const target = Math.atan2(dot(seen, axis), (Math.abs(elevation) > Math.PI / 2 ? -1 : 1) * Math.sqrt(Math.max(0, out2)));
  // cross(declination, third) = -axis: the right-handed turn lowers.
  const lowered = rotationAbout(declination, elevation - target);
  const moved = apply(lowered, home);
  const around = (v: Vector): number => {
    const x = dot(v, third), y = dot(v, declination);
    return Math.hypot(x, y) > ON_AXIS ? Math.atan2(y, x) : 0;
  };
  return compose(rotationAbout(axis, around(seen) - around(moved)), lowered);
}

/** Angle of the rotation that best carries one set of directions into another about a line of sight, radians, right-handed. */
export function rotationAboutSight(sight: Vector, from: readonly Vector[], to: readonly Vector[]): number {
  let sine = 0;
  let cosine = 0;
  from.forEach((a, i) => {
    const b = to[i]!;
    const p: Vector = cross(sight, a);
    const q: Vector = cross(sight, b);
    sine += dot(sight, cross(p, q));
    cosine += dot(p, q);
  });
  return Math.atan2(sine, cosine);
}
