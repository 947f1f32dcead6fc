import { type Rotation, apply, inverse } from '../geometry/rotation.js';
import { type Vector, dot, subtract } from '../geometry/vector.js';
import { type Lens, toPixel } from '../identify/lens.js';
import type { Hemisphere, LocalSky } from '../sky/localSky.js';
import { polarMotionSigma } from '../sky/polarMotion.js';
import { refractionAngle } from '../sky/refraction.js';
import { type Aim, aimedPole } from './aim.js';
import { type AxisError, horizontal } from './axisError.js';

export type { Aim } from './aim.js';

/** A symmetric 2·2 matrix, row by row. */
export type Covariance = readonly [number, number, number, number];

/** The axis in one frame. */
export interface FrameOnAxis {
  readonly pose: Rotation;
  /** Right-handed turn about the axis since the first frame in the local frame, radians. */
  readonly turn: number;
  /** The pixel the axis points at; null if behind the camera. */
  readonly rotationCentre: { readonly x: number; readonly y: number } | null;
  /** The aimed pole's pixel. */
  readonly pole: { readonly x: number; readonly y: number } | null;
  /** Root mean square residual in each coordinate, pixels. */
  readonly residualPixels: number;
}

/** The mount's axis and how well it is known. Angles in radians. */
export interface AxisResult {
  readonly hemisphere: Hemisphere;
  /** Local direction of the axis' end toward the elevated pole; Greenwich equatorial where the site is unknown. */
  readonly axis: Vector;
  readonly aim: Aim;
  readonly fromTruePole: AxisError;
  readonly fromRefractedPole: AxisError;
  /** One-sigma errors of the error from the aimed pole. */
  readonly sigma: AxisError;
  /** The same if pressure and temperature were given; absent where they are, or where it was not asked for. */
  readonly sigmaWithAir?: AxisError;
  readonly frames: readonly FrameOnAxis[];
  readonly lens: Lens;
}

/**
 * One sigma of the relative error of refraction. With pressure and temperature given: an error of 0.4 % in pressure and of 2 K in
 * temperature. Without: nights differ from the standard atmosphere by some 12 K and by 1.2 % in pressure (our own estimates).
 */
export const AIR_KNOWN = 0.0085;
const AIR_UNKNOWN = 0.0425;

/** Axis and aimed pole in a frame with this pose. */
export function frameOnAxis(
  axis: Vector, pose: Rotation, turn: number, lens: Lens, sky: LocalSky, aim: Aim, hemisphere: Hemisphere, residualPixels: number,
): FrameOnAxis {
  const toCamera = inverse(pose);
  return {
    pose, turn, residualPixels,
    rotationCentre: toPixel(lens, apply(toCamera, axis)),
    pole: toPixel(lens, apply(toCamera, aimedPole(sky, hemisphere, aim))),
  };
}

/**
 * One-sigma errors of an axis against the aimed pole: from the stars (`covariance` along `basis`: up and east at the axis), from polar
 * motion, and from refraction. The refracted pole is lifted with the stars around it, so that only the difference counts; the true pole
 * takes all of it. `air`: how the axis moves (up, east) for refraction once more, see `airResponse`; without it, as a star in its place
 * would.
 */
export function axisSigma(
  axis: Vector, basis: readonly [Vector, Vector], covariance: Covariance, aimed: Vector, aim: Aim, sky: LocalSky,
  air: readonly [number, number] | null = null, airKnown = sky.site?.airKnown ?? false,
): AxisError {
  const [starsUp, starsUpEast, , starsEast] = covariance;
  let upUp = starsUp;
  let eastEast = starsEast;
  let upEast = starsUpEast;
  if (sky.site !== null) {
    const polarVariance = polarMotionSigma(sky.time) ** 2;
    upUp += polarVariance;
    eastEast += polarVariance;
    const share = airKnown ? AIR_KNOWN : AIR_UNKNOWN;
    const lift = (direction: Vector): number => refractionAngle(sky.refraction, Math.PI / 2 - horizontal(direction).altitude);
    const missedUp = share * ((air ? air[0] : lift(axis)) - (aim === 'true' ? 0 : lift(aimed)));
    const missedEast = share * (air ? air[1] : 0);
    upUp += missedUp * missedUp;
    upEast += missedUp * missedEast;
    eastEast += missedEast * missedEast;
  }
  const [up, east] = basis;
  const away = subtract(axis, aimed);
  const a = dot(away, up), b = dot(away, east);
  const length2 = a * a + b * b;
  const spread = (upUp + eastEast) / 2;
  // On the pole itself the separation has no direction: use the mean of both.
  const separation2 = length2 > spread
    ? (a * a * upUp + 2 * a * b * upEast + b * b * eastEast) / length2
    : spread;
  return {
    altitude: Math.sqrt(upUp),
    azimuth: Math.sqrt(eastEast) / Math.max(1e-3, Math.cos(horizontal(axis).altitude)),
    separation: Math.sqrt(separation2),
  };
}
