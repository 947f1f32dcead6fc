import { ARCSECOND } from '../geometry/angle.js';
import type { Rotation } from '../geometry/rotation.js';

/**
 * Position of the celestial pole relative to the Earth's crust, radians: x toward the meridian of Greenwich, y toward 90° west, from the
 * pole that defines latitude.
 */
export interface PolarMotion {
  readonly x: number;
  readonly y: number;
}

/** The pole of latitude and the celestial pole are the same. */
export const NO_POLAR_MOTION: PolarMotion = { x: 0, y: 0 };

/**
 * Least squares of a mean, a yearly and a Chandler circle (433 days) to the daily poles of IERS finals2000A, 2020-09-17 to 2026-09-17:
 * mean, cosine and sine of the year, cosine and sine of Chandler's period; arcseconds, phases from 2026-01-01 0h.
 */
const CIRCLES = {
  x: [0.1422, -0.0452, -0.0942, 0.0287, 0.0460],
  y: [0.3603, -0.0865, 0.0370, 0.0438, -0.0309],
} as const;
const PHASE_FROM = Date.UTC(2026, 0, 1);
const YEAR_DAYS = 365.25;
const CHANDLER_DAYS = 433;
/** The circles are used between these days: see {@link polarMotionSigma}. */
const HOLDS = { from: Date.UTC(2014, 11, 9), to: Date.UTC(2031, 8, 17) };

/** The expected pole, without a network: the fitted circles extrapolated, and outside their days the {@link meanPole}. */
export function expectedPole(time: Date): PolarMotion {
  const at = time.getTime();
  if (!(at >= HOLDS.from && at <= HOLDS.to)) return meanPole(time);
  const days = (at - PHASE_FROM) / 86_400_000;
  const [year, chandler] = [(2 * Math.PI * days) / YEAR_DAYS, (2 * Math.PI * days) / CHANDLER_DAYS];
  const sum = ([mean, c1, s1, c2, s2]: typeof CIRCLES.x | typeof CIRCLES.y): number =>
    (mean + c1 * Math.cos(year) + s1 * Math.sin(year) + c2 * Math.cos(chandler) + s2 * Math.sin(chandler)) * ARCSECOND;
  return { x: sum(CIRCLES.x), y: sum(CIRCLES.y) };
}

/**
 * How far the pole may be from {@link expectedPole}, one sigma in each coordinate, radians. Such circles, fitted to six years anywhere
 * since 1995, differ from the poles of the next five years by 0.038″ to 0.053″ (the Chandler wobble varies); the circles above differ from
 * the poles of 2014 to 2020 by 0.038″. The mean pole differs by 0.1″.
 */
export function polarMotionSigma(time: Date): number {
  const at = time.getTime();
  return (at >= HOLDS.from && at <= HOLDS.to ? 0.05 : 0.1) * ARCSECOND;
}

/**
 * The mean pole of a year, about 0.1″ and 0.4″ in this decade: the secular pole of the IERS Conventions 2010, chapter 7,
 * as updated in 2018, eq. 21 (x = 55.0 + 1.677 t, y = 320.5 + 3.460 t milliarcseconds, t in years since 2000; from memory).
 */
export function meanPole(time: Date): PolarMotion {
  const years = (time.getTime() - Date.UTC(2000, 0, 1, 12)) / (365.25 * 86_400_000);
  return { x: (0.0550 + 0.001677 * years) * ARCSECOND, y: (0.3205 + 0.003460 * years) * ARCSECOND };
}

/** From axes on the celestial pole (z) and Greenwich to axes on the crust. To first order: the angles are micro-radians. */
export function polarMotionRotation({ x, y }: PolarMotion): Rotation {
  return [1, 0, x, 0, 1, -y, -x, y, 1];
}
