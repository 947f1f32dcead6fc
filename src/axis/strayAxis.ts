import { PolewardError } from '../error.js';
import { DEGREE, wrapSigned } from '../geometry/angle.js';
import { type Vector, angleBetween, scale } from '../geometry/vector.js';
import type { Hemisphere, LocalSky } from '../sky/localSky.js';
import { horizontal } from './axisError.js';

/** An axis farther from the pole than this can't be corrected by the knobs, and may be another axis altogether. */
export const FARTHEST = 25 * DEGREE;
/** A line this near to the vertical, and this far from the pole, is that of a mount that turns about the vertical. */
const VERTICAL = 4 * DEGREE;
const NOT_THE_POLE = 8 * DEGREE;

/** Why an axis can't be a right-ascension axis, in words; null where it is near enough to its pole. */
export function strayAxis(axis: Vector, sky: LocalSky, hemisphere: Hemisphere): PolewardError | null {
  const pole = sky.refractedPole(hemisphere);
  const off = angleBetween(axis, pole);
  const upright = axis[2] < 0 ? scale(axis, -1) : axis;
  const tilt = angleBetween(upright, [0, 0, 1]);
  if (sky.site && tilt < VERTICAL && angleBetween([0, 0, 1], pole) > NOT_THE_POLE) {
    return new PolewardError('no-rotation',
      `Between these frames the camera turned about the vertical (to ${degrees(tilt)}), not about an axis that points to the pole: an `
        + 'altazimuth mount, or the azimuth base was turned. Put the mount on a wedge or in its equatorial mode; else turn it in right '
        + 'ascension, not at its base.');
  }
  if (off <= FARTHEST) return null;
  const clamp = 'If it was, clamp the declination and turn in right ascension only.';
  if (!sky.site) {
    return new PolewardError('no-rotation',
      `Between these frames the camera turned about a line ${degrees(off)} from the pole, too far for a right-ascension axis. Aim the `
        + `mount coarsely first: its latitude scale at your latitude, its base toward the pole. Was the declination moved? ${clamp}`);
  }
  const [a, p] = [horizontal(axis), horizontal(pole)];
  const [up, right] = [p.altitude - a.altitude, wrapSigned(p.azimuth - a.azimuth)];
  return new PolewardError('no-rotation',
    `Between these frames the camera turned about a line ${degrees(a.altitude)} high at azimuth ${degrees(a.azimuth)}, ${degrees(off)} `
      + `from the pole. Aim coarsely first: ${up < 0 ? 'lower' : 'raise'} the latitude scale by ${degrees(up)}, turn the base `
      + `${degrees(right)} to the ${right < 0 ? 'left' : 'right'}. Was the declination moved? ${clamp}`);
}

function degrees(angle: number): string {
  return `${Math.abs(angle / DEGREE).toFixed(0)}°`;
}
