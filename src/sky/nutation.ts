import { type AstroTime, e_tilt } from 'astronomy-engine';
import { ARCSECOND, DEGREE } from '../geometry/angle.js';
import type { Rotation } from '../geometry/rotation.js';

/**
 * The terms of the IAU 2000B nutation from 1 mas up (in longitude), without the five that astronomy-engine has: multiples of the Moon's and
 * the Sun's mean anomaly, of F, D and Ω; sine in longitude and cosine in obliquity, 0.1 µas at J2000. McCarthy & Luzum 2003 (Celestial
 * Mechanics and Dynamical Astronomy 85, 37). Written from memory and then compared with ERFA's pole (test/sky/against-erfa.test.ts).
 */
const TERMS: readonly (readonly [number, number, number, number, number, number, number])[] = [
  [0, 1, 2, -2, 2, -516821, 224386],
  [1, 0, 0, 0, 0, 711159, -6750],
  [0, 0, 2, 0, 1, -387298, 200728],
  [1, 0, 2, 0, 2, -301461, 129025],
  [0, -1, 2, -2, 2, 215829, -95929],
  [0, 0, 2, -2, 1, 128227, -68982],
  [-1, 0, 2, 0, 2, 123457, -53311],
  [-1, 0, 0, 2, 0, 156994, -1235],
  [1, 0, 0, 0, 1, 63110, -33228],
  [-1, 0, 0, 0, 1, -57976, 31429],
  [-1, 0, 2, 2, 2, -59641, 25543],
  [1, 0, 2, 0, 1, -51613, 26366],
  [-2, 0, 2, 0, 1, 45893, -24236],
  [0, 0, 0, 2, 0, 63384, -1220],
  [0, 0, 2, 2, 2, -38571, 16452],
  [0, -2, 2, -2, 2, 32481, -13870],
  [-2, 0, 0, 2, 0, -47722, 477],
  [2, 0, 2, 0, 2, -31046, 13238],
  [1, 0, 2, -2, 2, 28593, -12338],
  [-1, 0, 2, 0, 1, 20441, -10758],
  [2, 0, 0, 0, 0, 29243, -609],
  [0, 0, 2, 0, 0, 25887, -550],
  [0, 1, 0, 0, 1, -14053, 8551],
  [-1, 0, 0, 2, 1, 15164, -8001],
  [0, 2, 2, -2, 2, -15794, 6850],
  [0, 0, -2, 2, 0, 21783, -167],
  [1, 0, 0, -2, 1, -12873, 6953],
  [0, -1, 0, 0, 1, -12654, 6415],
  [-1, 0, 2, 2, 1, -10204, 5222],
  [0, 2, 0, 0, 0, 16707, 168],
];

/** Nutation in longitude and obliquity, radians. */
export interface Nutation {
  readonly longitude: number;
  readonly obliquity: number;
}

/** The part of nutation that astronomy-engine leaves out: up to 0.2″ in longitude and 0.08″ in obliquity. */
export function missingNutation(time: AstroTime): Nutation {
  const t = time.tt / 36525;
  // Fundamental arguments, Simon et al. 1994 (A&A 282, 663), linear as in IAU 2000B.
  const l = 485868.249036 + 1717915923.2178 * t;
  const lSun = 1287104.79305 + 129596581.0481 * t;
  const f = 335779.526232 + 1739527262.8478 * t;
  const d = 1072260.70369 + 1602961601.209 * t;
  const om = 450160.398036 - 6962890.5431 * t;
  let longitude = 0;
  let obliquity = 0;
  for (const [a, b, c, e, g, sine, cosine] of TERMS) {
    const argument = (a * l + b * lSun + c * f + e * d + g * om) * ARCSECOND;
    longitude += sine * Math.sin(argument);
    obliquity += cosine * Math.cos(argument);
  }
  return { longitude: longitude * 1e-7 * ARCSECOND, obliquity: obliquity * 1e-7 * ARCSECOND };
}

/** True obliquity of the ecliptic, radians. */
export function trueObliquity(time: AstroTime): number {
  return e_tilt(time).tobl * DEGREE;
}

/** Rotation by a nutation of less than an arcsecond, to first order, in the frame of the equator. */
export function smallNutation({ longitude, obliquity }: Nutation, ofEcliptic: number): Rotation {
  const c = longitude * Math.cos(ofEcliptic);
  const s = longitude * Math.sin(ofEcliptic);
  return [1, -c, -s, c, 1, -obliquity, s, obliquity, 1];
}
