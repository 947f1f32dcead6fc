import { ARCSECOND } from '../geometry/angle.js';
import type { Rotation } from '../geometry/rotation.js';

/**
 * Where the celestial pole stands over the Earth's crust, radians: x toward the meridian of Greenwich, y toward 90° west,
 * from the pole that latitudes are counted from.
 */
export interface PolarMotion {
  readonly x: number;
  readonly y: number;
}

/** No difference between the pole of latitudes and the celestial pole. */
export const NO_POLAR_MOTION: PolarMotion = { x: 0, y: 0 };

/**
 * What {@link meanPole} leaves out, one sigma in each coordinate, radians: the yearly and the Chandler wobble, circles of
 * 0.1″ to 0.2″ that nobody knows beforehand without a network.
 */
export const POLAR_WOBBLE = 0.1 * ARCSECOND;

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
