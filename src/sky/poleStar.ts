import { ARCSECOND, DEGREE, wrapPositive } from '../geometry/angle.js';
import { type Vector, angleBetween, fromSpherical } from '../geometry/vector.js';
import { type Hemisphere, makeLocalSky } from './localSky.js';
import { NO_POLAR_MOTION } from './polarMotion.js';
import type { Site } from './site.js';

/** The bright star by which people set a polar scope. ICRS, epoch J2000. */
export interface PoleStar {
  readonly name: string;
  readonly magnitude: number;
  readonly raDeg: number;
  readonly decDeg: number;
  /** Milliarcseconds a year; in right ascension times cos(declination). */
  readonly motionRaMas: number;
  readonly motionDecMas: number;
}

/** Places and motions of the new reduction of Hipparcos (van Leeuwen 2007, A&A 474, 653: HIP 11767, HIP 104382), from memory. */
const POLARIS: PoleStar = {
  name: 'Polaris', magnitude: 2.0, raDeg: 37.9545607, decDeg: 89.264109, motionRaMas: 44.48, motionDecMas: -11.85,
};
const SIGMA_OCTANTIS: PoleStar = {
  name: 'sigma Octantis', magnitude: 5.5, raDeg: 317.1952649, decDeg: -88.9564995, motionRaMas: 26, motionDecMas: 5,
};

export function poleStar(hemisphere: Hemisphere): PoleStar {
  return hemisphere === 1 ? POLARIS : SIGMA_OCTANTIS;
}

/** The position of a pole star relative to the pole of date. Without air, which lifts star and pole nearly equally. */
export interface PoleStarPlace {
  /** Apparent local hour angle, radians, 0 to 2π, westward from the upper meridian. */
  readonly hourAngle: number;
  /** From the celestial pole of date (not the refracted one), radians; aberration of the star's light included. */
  readonly distance: number;
  /** Its position as on a clock's face with the zenith at 12, as the eye sees it toward the pole: 0 to 12. */
  readonly upright: number;
  /** The same in a polar scope that shows the sky upside down. */
  readonly inverting: number;
}

/**
 * The position of a hemisphere's pole star at a site.
 *
 * Seen toward the north pole the stars turn counter-clockwise, toward the south pole clockwise; a star at hour angle 0 is at 12.
 * @param time UTC, used as UT1 (less than 0.9 s off)
 */
export function poleStarPlace(hemisphere: Hemisphere, time: Date, site: Site): PoleStarPlace {
  const sky = makeLocalSky(time, { ...site, pressureHectopascal: 0 }, NO_POLAR_MOTION);
  const direction = sky.toLocal(placeOf(poleStar(hemisphere), time));
  const hourAngle = hourAngleOf(direction, site.latitude);
  const upright = clock(-hemisphere * hourAngle);
  return { hourAngle, distance: angleBetween(direction, sky.truePole(hemisphere)), upright, inverting: (upright + 6) % 12 };
}

/** ICRS direction of a star at a time, with its proper motion. */
function placeOf(star: PoleStar, time: Date): Vector {
  const years = (time.getTime() - Date.UTC(2000, 0, 1, 12)) / (365.25 * 86_400_000);
  const ra = star.raDeg * DEGREE;
  const dec = star.decDeg * DEGREE;
  const mas = (years * ARCSECOND) / 1000;
  // Near a pole along the tangents, since right ascension changes quickly there.
  const east: Vector = [-Math.sin(ra), Math.cos(ra), 0];
  const north: Vector = [-Math.sin(dec) * Math.cos(ra), -Math.sin(dec) * Math.sin(ra), Math.cos(dec)];
  const at = fromSpherical(ra, dec);
  const along = (k: 0 | 1 | 2): number => at[k] + mas * (star.motionRaMas * east[k] + star.motionDecMas * north[k]);
  const moved: Vector = [along(0), along(1), along(2)];
  const length = Math.hypot(...moved);
  return [moved[0] / length, moved[1] / length, moved[2] / length];
}

/** Hour angle (radians, 0 to 2π) of a local direction. Latitude in radians. */
function hourAngleOf([east, north, up]: Vector, latitude: number): number {
  return wrapPositive(Math.atan2(-east, up * Math.cos(latitude) - north * Math.sin(latitude)));
}

/** A clockwise angle from the top, radians, as hours of a clock's face. */
function clock(angle: number): number {
  return (wrapPositive(angle) / (2 * Math.PI)) * 12 % 12;
}
