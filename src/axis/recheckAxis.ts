import { PolewardError } from '../error.js';
import { DEGREE, wrapSigned } from '../geometry/angle.js';
import { type Rotation, apply, axisAndAngle, compose, inverse, rotationAbout } from '../geometry/rotation.js';
import { type Vector, cross, dot, unit } from '../geometry/vector.js';
import { CAUCHY } from '../identify/cauchyLoss.js';
import { fitPose, type Matches } from '../identify/fitPose.js';
import type { Identification } from '../identify/identifyFrame.js';
import { poseCovariance } from '../identify/poseCovariance.js';
import type { LocalSky } from '../sky/localSky.js';
import { axisError, horizontal } from './axisError.js';
import { type Aim, type AxisResult, type Covariance, axisSigma, frameOnAxis } from './axisResult.js';
import type { MountView } from './mountView.js';
import { axisBasis } from './axisBasis.js';

/** The axis after a knob was turned, from one frame. Angles in radians. */
export interface Recheck extends AxisResult {
  /** What the axis has moved since the measurement: + raised, + east (the knob's angle). */
  readonly moved: { readonly altitude: number; readonly azimuth: number };
  /** Right-handed turn about the axis since the measurement's last frame. */
  readonly turn: number;
  /** What tracking would have turned in that time, likewise. */
  readonly tracked: number;
  /** The mount was turned by something else than its drive. */
  readonly slewed: boolean;
}

/** Sidereal turn of the sky, radians a second. */
const SIDEREAL = (2 * Math.PI) / 86164.0905;
/** A turn this near to what the drive can have done is the drive's; an unlevel base mixes some of a knob's turn in. */
const SLEW_LEAST = 0.3 * DEGREE;
const SLEW_SHARE = 0.05;
/** Nearer the zenith azimuth and the turn about the axis can't be told apart. */
const HIGHEST_LATITUDE = 80 * DEGREE;

/**
 * Where the axis points now, from one frame and how the camera sits on the mount (`view`, from frames turned about the
 * axis). The three unknowns of pose_new = R(vertical, Δaz)·R(horizontal, Δalt)·R(axis, φ)·pose_old follow in closed form:
 * the axis keeps its place in the camera, so the new pose carries it to where it points, whatever φ is.
 * A bump in declination looks like a knob here; only a new rotated measurement tells them apart.
 *
 * @throws PolewardError `bad-option` without a site or nearer the zenith than 80° of latitude; `not-identified` with too few stars
 */
export function recheckAxis(view: MountView, identification: Identification, sky: LocalSky, aim: Aim): Recheck {
  if (sky.site === null) {
    throw new PolewardError('bad-option', 'Without the site a single frame can\'t tell what a knob did. Give --latitude and --longitude.');
  }
  if (Math.abs(sky.site.latitude) > HIGHEST_LATITUDE) {
    throw new PolewardError('bad-option', 'So near the zenith azimuth and right ascension can\'t be told apart in one frame. Measure anew with frames turned in right ascension.');
  }
  const matches = matchesOf(identification, view);
  const fit = fitPose(matches, identification.pose, view.lens, { focal: false, radialTerms: 0, robust: CAUCHY.scale, iterations: 10 });
  const spread = fit && poseCovariance(matches, fit.pose, view.lens);
  if (!fit || !spread) {
    throw new PolewardError('not-identified', 'This frame has too few stars to tell where the axis points. Expose longer, or wait for clouds to pass.');
  }
  const { hemisphere } = view;
  const axis = unit(apply(fit.pose, view.centre));
  const truePole = sky.truePole(hemisphere);
  const refractedPole = sky.refractedPole(hemisphere);
  const old = unit(apply(view.pose, view.centre));
  const moved = moveBetween(old, axis);
  const turn = turnBetween(view.pose, fit.pose, old, moved);
  const tracked = -hemisphere * SIDEREAL * ((sky.time.getTime() - view.time.getTime()) / 1000);
  const basis = axisBasis(axis);
  const aimed = aim === 'true' ? truePole : refractedPole;
  const allowed = SLEW_LEAST + SLEW_SHARE * Math.hypot(moved.altitude, moved.azimuth);
  return {
    hemisphere, axis, aim,
    fromTruePole: axisError(axis, truePole),
    fromRefractedPole: axisError(axis, refractedPole),
    sigma: axisSigma(axis, basis, covarianceAt(view, fit.pose, spread, basis), aimed, aim, sky),
    frames: [frameOnAxis(axis, fit.pose, turn, view.lens, sky, aim, hemisphere, fit.rms)],
    lens: view.lens,
    moved: { altitude: moved.altitude, azimuth: axisError(axis, truePole).azimuth - axisError(old, truePole).azimuth },
    turn, tracked,
    // The drive may have been on for some of the time.
    slewed: turn < Math.min(0, tracked) - allowed || turn > Math.max(0, tracked) + allowed,
  };
}

function matchesOf({ stars }: Identification, view: MountView): Matches {
  return {
    count: stars.length,
    directions: Float64Array.from(stars.flatMap((s) => s.direction)),
    x: Float64Array.from(stars, (s) => s.detection.x),
    y: Float64Array.from(stars, (s) => s.detection.y),
    sigma: Float64Array.from(stars, (s) => Math.hypot(s.detection.sigma, s.catalogueSigma * view.lens.focalPixels)),
  };
}

/** Change of altitude, and of azimuth through east, from one direction to another. */
function moveBetween(from: Vector, to: Vector): { altitude: number; azimuth: number } {
  const a = horizontal(from), b = horizontal(to);
  return { altitude: b.altitude - a.altitude, azimuth: wrapSigned(b.azimuth - a.azimuth) };
}

/** φ: what is left of the camera's rotation once the knobs' part is taken out, as a turn about the old axis. */
function turnBetween(from: Rotation, to: Rotation, axis: Vector, moved: { altitude: number; azimuth: number }): number {
  // Azimuth runs clockwise seen from above; raising turns about the horizontal to the axis' right.
  const right = unit(cross(axis, [0, 0, 1]));
  const knobs = compose(rotationAbout([0, 0, 1], -moved.azimuth), rotationAbout(right, moved.altitude));
  const rest = axisAndAngle(compose(inverse(knobs), compose(to, inverse(from))));
  return rest.angle * (dot(rest.axis, axis) < 0 ? -1 : 1);
}

/** Covariance of the axis along `basis`: its place in the camera, and the new pose at that place. */
function covarianceAt(view: MountView, pose: Rotation, spread: Float64Array, basis: readonly [Vector, Vector]): Covariance {
  // Turning the pose by w (camera frame) moves what it makes of c by pose·(w × c).
  const rows = basis.map((b) => {
    const inCamera = apply(inverse(pose), b);
    return { centre: view.centreBasis.map((e) => dot(e, inCamera)), pose: cross(view.centre, inCamera) };
  });
  const at = (r: number, k: number): number => {
    let sum = 0;
    for (let i = 0; i < 2; i++) for (let j = 0; j < 2; j++) sum += rows[r]!.centre[i]! * view.centreCovariance[2 * i + j]! * rows[k]!.centre[j]!;
    for (let i = 0; i < 3; i++) for (let j = 0; j < 3; j++) sum += rows[r]!.pose[i]! * spread[3 * i + j]! * rows[k]!.pose[j]!;
    return sum;
  };
  return [at(0, 0), at(0, 1), at(1, 0), at(1, 1)];
}
