import { type AstroTime, BaryState, Body, Rotation_EQJ_EQD, SiderealTime } from 'astronomy-engine';
import { ARCSECOND, DEGREE } from '../geometry/angle.js';
import { type Rotation, compose } from '../geometry/rotation.js';
import type { Vector } from '../geometry/vector.js';
import { missingNutation, smallNutation, trueObliquity } from './nutation.js';

/**
 * ICRS to the mean equator and equinox of J2000: the frame bias, 0.02″. IERS Conventions 2010, chapter 5: pole offset
 * ξ₀ = -16.617 mas, η₀ = -6.819 mas, equinox dα₀ = -14.6 mas; to first order.
 */
const XI = -0.016617 * ARCSECOND;
const ETA = -0.006819 * ARCSECOND;
const ALPHA = -0.0146 * ARCSECOND;
const FRAME_BIAS: Rotation = [1, ALPHA, -XI, -ALPHA, 1, -ETA, XI, ETA, 1];

/**
 * Rotation from ICRS to the true equator and equinox of date: frame bias, precession (IAU 2006) and the five largest
 * terms of nutation from astronomy-engine, the next thirty (IAU 2000B) from here. Its third row is the celestial pole of
 * date in ICRS, within 0.01″ of the full IAU 2006/2000A from 2000 to 2050.
 */
export function trueEquatorOfDate(time: AstroTime): Rotation {
  const { rot } = Rotation_EQJ_EQD(time);
  const [x, y, z] = rot as [[number, number, number], [number, number, number], [number, number, number]];
  const fiveTerms: Rotation = [x[0], y[0], z[0], x[1], y[1], z[1], x[2], y[2], z[2]];
  return compose(smallNutation(missingNutation(time), trueObliquity(time)), compose(fiveTerms, FRAME_BIAS));
}

/**
 * Greenwich apparent sidereal time, radians. UTC is used as UT1: they differ by less than 0.9 s, which turns the whole sky about the pole
 * and so changes neither pole nor axis relative to it.
 */
export function siderealAngle(time: AstroTime): number {
  return SiderealTime(time) * 15 * DEGREE + missingNutation(time).longitude * Math.cos(trueObliquity(time));
}

/** Astronomical units a day in units of the speed of light: light needs 499.004784 s for one (IAU 2009 and 2012). */
const AU_PER_DAY = 499.004784 / 86400;

/** Velocity of Earth's centre about the barycentre of the solar system, in units of the speed of light, mean equator J2000. */
export function earthVelocity(time: AstroTime): Vector {
  const { vx, vy, vz } = BaryState(Body.Earth, time);
  return [vx * AU_PER_DAY, vy * AU_PER_DAY, vz * AU_PER_DAY];
}

/** WGS 84 */
const EQUATORIAL_RADIUS_METRES = 6378137;
const FLATTENING = 1 / 298.257223563;
/** Radians a second (IERS Conventions 2010) */
const EARTH_ROTATION = 7.292115e-5;
const LIGHT_METRES_PER_SECOND = 299792458;

/** Eastward velocity that Earth's rotation gives a site, in units of the speed of light. Latitude geodetic, radians. */
export function rotationSpeed(latitude: number, elevationMetres: number): number {
  const cosine = Math.cos(latitude);
  const polar = (1 - FLATTENING) * Math.sin(latitude);
  const radius = (EQUATORIAL_RADIUS_METRES / Math.hypot(cosine, polar) + elevationMetres) * cosine;
  return (EARTH_ROTATION * radius) / LIGHT_METRES_PER_SECOND;
}
