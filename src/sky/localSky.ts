import { MakeTime } from 'astronomy-engine';
import { IDENTITY, type Rotation, apply, compose, inverse, rotationAbout } from '../geometry/rotation.js';
import { type Vector, add, scale } from '../geometry/vector.js';
import { aberrate } from './aberration.js';
import { earthVelocity, rotationSpeed, siderealAngle, trueEquatorOfDate } from './earth.js';
import { type PolarMotion, expectedPole, polarMotionRotation } from './polarMotion.js';
import {
  NO_REFRACTION, type Refraction, refract, refractDirection, siteRefraction, unrefractDirection,
} from './refraction.js';
import type { Site } from './site.js';

/** 1 = the north celestial pole, -1 = the south one. */
export type Hemisphere = 1 | -1;

/**
 * The sky over a site at one time. Local frame: right-handed, x east, y north, z up.
 *
 * Without a site the frame is that of the Earth's equator: x toward the meridian of Greenwich, y toward 90° east, z toward the celestial
 * pole of date; no air, so both poles are ±z.
 */
export interface LocalSky {
  readonly time: Date;
  readonly site: Site | null;
  readonly refraction: Refraction;
  /** Direction in which a star appears, from its ICRS direction (length 1): aberration and refraction included. */
  toLocal(icrs: Vector): Vector;
  /** ICRS direction of what appears in a local direction (length 1); the inverse of {@link toLocal}. */
  fromLocal(local: Vector): Vector;
  /**
   * {@link toLocal} of many stars: 3·n numbers in, 3·n out.
   * @param out where to write; it may be `directions` itself. A new array if absent.
   */
  toLocalAll(directions: Float64Array, out?: Float64Array): Float64Array;
  /** The celestial pole, no air: at altitude |latitude| over the horizon of its hemisphere. No aberration. */
  truePole(hemisphere: Hemisphere): Vector;
  /** Where the true pole appears through the air. */
  refractedPole(hemisphere: Hemisphere): Vector;
}

/**
 * Directions of stars as seen from a site (null = unknown) at a time (UTC, middle of the exposure).
 *
 * The steps: ICRS, frame bias, precession and nutation, Greenwich apparent sidereal time and longitude, latitude; aberration by the Earth's
 * barycentric velocity and its rotation; polar motion; refraction. Left out: UT1 - UTC, parallax, light bent by the Sun (0.01″ at 45° from
 * it). Against ERFA above 15° altitude, 2000 to 2050: within 0.3″.
 *
 * The true pole is at altitude |latitude| exactly: it is the pole that defines latitude. The stars turn about a point that polar motion
 * moves up to 0.5″ away from it; `motion` gives that, by default as expected from the IERS' data.
 */
export function makeLocalSky(time: Date, site: Site | null, motion: PolarMotion = expectedPole(time)): LocalSky {
  const t = MakeTime(time);
  const equator = trueEquatorOfDate(t);
  const earthFixed = compose(rotationAbout([0, 0, 1], -siderealAngle(t)), equator);
  const horizon = site === null ? IDENTITY : horizonFromEarth(site);
  const onCrust = site === null ? earthFixed : compose(polarMotionRotation(motion), earthFixed);
  const rotation = compose(horizon, onCrust);
  const back = inverse(rotation);
  // The frame bias, 0.02″, is negligible for a velocity.
  const annual = apply(rotation, earthVelocity(t));
  const velocity = site === null ? annual : add(annual, [rotationSpeed(site.latitude, site.elevationMetres), 0, 0]);
  const refraction = site === null ? NO_REFRACTION : siteRefraction(site);
  const pole: Vector = apply(horizon, [0, 0, 1]);

  return {
    time,
    site,
    refraction,
    toLocal: (icrs) => refractDirection(refraction, aberrate(apply(rotation, icrs), velocity)),
    fromLocal: (local) => apply(back, aberrate(unrefractDirection(refraction, local), scale(velocity, -1))),
    toLocalAll: (directions, out = new Float64Array(directions.length)) =>
      transformAll(directions, out, rotation, velocity, refraction),
    truePole: (hemisphere) => scale(pole, hemisphere),
    refractedPole: (hemisphere) => refractDirection(refraction, scale(pole, hemisphere)),
  };
}


/** Earth-fixed (x Greenwich, y 90° east, z north) to local (x east, y north, z up). */
function horizonFromEarth({ latitude, longitude }: Site): Rotation {
  const cosLatitude = Math.cos(latitude);
  const sinLatitude = Math.sin(latitude);
  const cosLongitude = Math.cos(longitude);
  const sinLongitude = Math.sin(longitude);
  return [
    -sinLongitude, cosLongitude, 0,
    -sinLatitude * cosLongitude, -sinLatitude * sinLongitude, cosLatitude,
    cosLatitude * cosLongitude, cosLatitude * sinLongitude, sinLatitude,
  ];
}

/** The steps of {@link LocalSky.toLocal} written out on plain numbers: tens of thousands of stars in a few milliseconds. */
function transformAll(
  directions: Float64Array, out: Float64Array, rotation: Rotation, velocity: Vector, refraction: Refraction,
): Float64Array {
  const [r0, r1, r2, r3, r4, r5, r6, r7, r8] = rotation;
  const [vx, vy, vz] = velocity;
  const inverseGamma = Math.sqrt(1 - vx * vx - vy * vy - vz * vz);
  const airless = refraction.a === 0;
  for (let i = 0; i + 2 < directions.length; i += 3) {
    const x = directions[i]!;
    const y = directions[i + 1]!;
    const z = directions[i + 2]!;
    const east = r0 * x + r1 * y + r2 * z;
    const north = r3 * x + r4 * y + r5 * z;
    const up = r6 * x + r7 * y + r8 * z;
    const along = east * vx + north * vy + up * vz;
    const share = 1 + along / (1 + inverseGamma);
    const length = 1 + along;
    const e = (inverseGamma * east + share * vx) / length;
    const n = (inverseGamma * north + share * vy) / length;
    const u = (inverseGamma * up + share * vz) / length;
    const horizontal = Math.sqrt(e * e + n * n);
    if (airless || horizontal === 0) {
      out[i] = e;
      out[i + 1] = n;
      out[i + 2] = u;
      continue;
    }
    const zenithDistance = refract(refraction, Math.atan2(horizontal, u));
    const factor = Math.sin(zenithDistance) / horizontal;
    out[i] = e * factor;
    out[i + 1] = n * factor;
    out[i + 2] = Math.cos(zenithDistance);
  }
  return out;
}
