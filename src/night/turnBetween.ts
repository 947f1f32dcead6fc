import { DEGREE } from '../geometry/angle.js';
import { axisAndAngle, compose, inverse } from '../geometry/rotation.js';
import { type Vector, dot } from '../geometry/vector.js';
import type { Hemisphere } from '../sky/localSky.js';
import type { PoseLook } from './poseLook.js';

/** Sidereal turn of the sky, radians a second. */
const SIDEREAL = (2 * Math.PI) / 86164.0905;
/** A turn this near to what the drive can have made is the drive's; knobs add a little turn of their own. Radians. */
const DRIVE_MISSES = 0.3 * DEGREE;

/** How often people turn the mount between two looks, and over how wide a range, radians: rough guesses. */
const SLEWS = 0.25;
const SLEW_RANGE = 120 * DEGREE;
/** Drives start late and have an error in rate; radians. */
const DRIVE_ERRS = DEGREE / 120;

/** How far the mount was turned about its axis between two looks. Radians, westward (as the drive turns) positive. */
export interface TurnBetween {
  readonly turn: number;
  /** What the drive alone would have done in that time. */
  readonly tracked: number;
  /** Something other than the drive turned the mount. */
  readonly slewed: boolean;
}

/** The turn from one look to the next about an axis (local, the end toward the elevated pole). */
export function turnBetween(before: PoseLook, now: PoseLook, axis: Vector, hemisphere: Hemisphere): TurnBetween {
  const moved = axisAndAngle(compose(now.pose, inverse(before.pose)));
  // Right-handed about the elevated pole is eastward in the north.
  const turn = -hemisphere * moved.angle * dot(moved.axis, axis);
  const tracked = (SIDEREAL * (now.time - before.time)) / 1000;
  // The drive may have been on for some of the time.
  const slewed = turn < Math.min(0, tracked) - DRIVE_MISSES || turn > Math.max(0, tracked) + DRIVE_MISSES;
  return { turn, tracked, slewed };
}

/**
 * Natural logarithm of the density (per radian) of a turn: either by the drive, on for some of the time, or a slew of any size.
 *
 * @param mixed how much of a knob's own turn may be in it, radians: the azimuth knob turns the camera about the axis too
 */
export function turnLikelihood({ turn, tracked }: TurnBetween, rollSigma: number, mixed: number): number {
  const beyond = Math.max(0, turn - Math.max(0, tracked), Math.min(0, tracked) - turn);
  const sigma = Math.hypot(DRIVE_ERRS, rollSigma, mixed);
  const driven = Math.exp(-0.5 * (beyond / sigma) ** 2) / (sigma * Math.sqrt(2 * Math.PI) + Math.abs(tracked));
  return Math.log((1 - SLEWS) * driven + SLEWS / SLEW_RANGE);
}
