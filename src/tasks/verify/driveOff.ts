import { PolewardError } from '../../error.js';
import { DEGREE } from '../../geometry/angle.js';
import { fieldDrift } from '../../run/fieldDrift.js';
import { registerField } from '../../run/registerField.js';
import type { FieldOrientation } from '../../run/targetPose.js';
import { SIDEREAL_RATE } from '../../sky/siderealRate.js';
import { type ShapedFrame, timeOf } from './shapedFrame.js';

const DRIVE_OFF_SIGMA = 0.3 * DEGREE;
/** Stars must move at least this far between the two frames, pixels. */
const LEAST_MOVE = 10;

/**
 * How a picture lies on the sky, from two frames of one field with the drive off: then the stars go west, and the picture turns with them,
 * which shows the parity.
 *
 * @param width of the pictures whose orientation is asked for, pixels
 * @throws PolewardError `bad-option` where the frames don't show it
 */
export function driveOffOrientation(frames: readonly ShapedFrame[], width: number, declinationDeg: number): FieldOrientation {
  const [a, b] = [...frames].sort((p, q) => timeOf(p) - timeOf(q));
  if (!a || !b || a.width !== width) {
    throw new PolewardError(
      'bad-option',
      'The frames with the drive off can\'t be used: two of the same camera are needed, with their times. Take two short ones, some '
        + 'seconds apart.',
    );
  }
  const field = registerField([a.stars, b.stars], a.width, a.height);
  const drift = field && fieldDrift(field, [a, b].map(timeOf));
  if (!drift || Math.hypot(drift.x.rate, drift.y.rate) * drift.seconds.at(-1)! < LEAST_MOVE) {
    throw new PolewardError(
      'bad-option',
      'The frames with the drive off show too little drift to find west. Let some seconds pass between them, the drive off, so that '
        + 'stars move by 10 pixels and more.',
    );
  }
  const expected = SIDEREAL_RATE * Math.sin(declinationDeg * DEGREE);
  const { rate, rateSigma } = drift.rotation;
  if (Math.abs(Math.abs(rate) - Math.abs(expected)) > 0.3 * Math.abs(expected) + 5 * rateSigma || Math.abs(expected) < 5 * rateSigma) {
    throw new PolewardError('bad-option', 'The frames with the drive off don\'t turn as a field at this declination does, so they can\'t '
      + 'tell whether the picture is mirrored. Give the position angle, and say where it is mirrored.',
      { remedies: ['give-position-angle', 'give-mirrored'] });
  }
  // Where x is right and y down as from below, the field turns counter-clockwise about the north pole: from x toward y is clockwise.
  const mirrored = -Math.sign(rate) !== Math.sign(expected);
  const west = Math.atan2(drift.y.rate, drift.x.rate);
  // West stands at 270°; from x to it the position angle changes by minus the angle where the picture looks like the sky.
  return { rowAngle: 1.5 * Math.PI + (mirrored ? -west : west), mirrored, sigma: DRIVE_OFF_SIGMA };
}
