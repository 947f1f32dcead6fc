import { DEGREE } from '../geometry/angle.js';
import type { Vector } from '../geometry/vector.js';
import type { Site } from './site.js';

/**
 * Refraction of light by the air: true zenith distance = z + a·tan z + b·tan³ z, z the apparent one; radians. It agrees with rays traced
 * through a standard atmosphere within 0.1″ to 75° and 1″ at 80°; the air of a given night differs from the standard by more. See {@link
 * refractionAngle} for lower altitudes.
 */
export interface Refraction {
  readonly a: number;
  readonly b: number;
}

export const NO_REFRACTION: Refraction = { a: 0, b: 0 };

/** Visual light, and the middle of an unfiltered camera's band, micrometres. */
const WAVELENGTH_MICROMETRES = 0.55;

/**
 * Refraction at a site from its pressure, temperature and humidity.
 *
 * Sources: saturation pressure of water, Gill 1982 (Atmosphere-Ocean Dynamics, A4.5-A4.7); vapour pressure, Crane 1976
 * (Methods of Experimental Physics 12B, 2.5.5); refractivity of air, IAG 1999 resolution 3 with the humidity term of
 * Hohenkerk & Sinclair 1985 (NAO Technical Note 63); scale height over distance from Earth's centre, Stone 1996
 * (PASP 108, 1051, eq. 9), coefficient as in ERFA's refco; a and b from both, Green 1985 (Spherical Astronomy, 4.31).
 *
 * @param wavelengthMicrometres visible light, 0.3 to 2
 */
export function siteRefraction(site: Site, wavelengthMicrometres = WAVELENGTH_MICROMETRES): Refraction {
  const p = Math.max(0, site.pressureHectopascal);
  if (p === 0) return NO_REFRACTION;
  const t = site.temperatureCelsius;
  const kelvin = t + 273.15;
  const humidity = Math.min(1, Math.max(0, site.relativeHumidity));
  const saturation = Math.pow(10, (0.7859 + 0.03477 * t) / (1 + 0.00412 * t)) * (1 + p * (4.5e-6 + 6e-10 * t * t));
  const vapour = (humidity * saturation) / (1 - ((1 - humidity) * saturation) / p);
  const w = 1 / (wavelengthMicrometres * wavelengthMicrometres);
  const refractivity = ((77.53484e-6 + (4.39108e-7 + 3.666e-9 * w) * w) * p - 11.2684e-6 * vapour) / kelvin;
  const beta = 4.4474e-6 * kelvin;
  return { a: refractivity * (1 - beta), b: -refractivity * (beta - refractivity / 2) };
}

/** Apparent zenith distance beyond which the formula is replaced by a tail. */
const FORMULA_TO = 85 * DEGREE;
const TAIL = 5 * DEGREE;

/**
 * How much a direction at an apparent zenith distance (radians, 0 to π) is lifted, radians.
 *
 * At low altitude the tangent formula gives too little (0.5′ too little at 5°), and lower still it fails completely. From 5° it is
 * continued with the same value and slope and falls to zero below the horizon: smooth, so that the formula and its inverse always exist,
 * but not a model of low air (at the horizon it gives a third of the true 34′).
 */
export function refractionAngle({ a, b }: Refraction, apparentZenithDistance: number): number {
  const past = apparentZenithDistance - FORMULA_TO;
  if (past <= 0) {
    const t = Math.tan(apparentZenithDistance);
    return t * (a + b * t * t);
  }
  return (EDGE * (a + b * EDGE * EDGE) + tailSlope(a, b) * past) * Math.exp(-past / TAIL);
}

const EDGE = Math.tan(FORMULA_TO);

function tailSlope(a: number, b: number): number {
  return (a + 3 * b * EDGE * EDGE) * (1 + EDGE * EDGE) + (EDGE * (a + b * EDGE * EDGE)) / TAIL;
}

/** True zenith distance (radians) of an object that appears at `apparentZenithDistance`, 0 to π. Strictly increasing. */
export function unrefract(refraction: Refraction, apparentZenithDistance: number): number {
  return apparentZenithDistance + refractionAngle(refraction, apparentZenithDistance);
}

/** Apparent zenith distance (radians) of an object at `trueZenithDistance`, 0 to π; the inverse of {@link unrefract}. */
export function refract(refraction: Refraction, trueZenithDistance: number): number {
  const { a, b } = refraction;
  let z = trueZenithDistance;
  for (let i = 0; i < 20; i++) {
    const excess = unrefract(refraction, z) - trueZenithDistance;
    // Newton's method; in the tail, where the slope is at most 0.03, plain iteration is enough.
    const t = z < FORMULA_TO ? Math.tan(z) : 0;
    const slope = z < FORMULA_TO ? (a + 3 * b * t * t) * (1 + t * t) : 0;
    z -= excess / (1 + slope);
    if (Math.abs(excess) < 1e-14) break;
  }
  return z;
}

/** {@link refract} for a direction with z toward the zenith: the direction in which it appears. Length is kept. */
export function refractDirection(refraction: Refraction, direction: Vector): Vector {
  return lift(direction, (z) => refract(refraction, z));
}

/** The inverse of {@link refractDirection}. */
export function unrefractDirection(refraction: Refraction, direction: Vector): Vector {
  return lift(direction, (z) => unrefract(refraction, z));
}

function lift(direction: Vector, newZenithDistance: (z: number) => number): Vector {
  const [x, y, z] = direction;
  const horizontal = Math.hypot(x, y);
  if (horizontal === 0) return direction;
  const length = Math.hypot(horizontal, z);
  const distance = newZenithDistance(Math.atan2(horizontal, z));
  const factor = (length * Math.sin(distance)) / horizontal;
  return [x * factor, y * factor, length * Math.cos(distance)];
}
